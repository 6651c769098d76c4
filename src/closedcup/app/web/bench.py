"""The bench page: what to do now, the dwell, and one press for what was done or seen.

The page is one form. Whichever button is pressed, everything typed elsewhere on the page travels
with it and comes back, so a press never discards a half-written note; scripts only make it quicker.
"""

from collections.abc import Callable
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.bench.bench_overview import bench_overview
from closedcup.app.usecases.bench.picture import series_picture
from closedcup.app.usecases.bench.sights import read_observation
from closedcup.app.usecases.desk.overview import asked_words
from closedcup.app.usecases.planning.belief_pictures import belief_panel
from closedcup.app.web.forms import Form
from closedcup.app.web.person import people
from closedcup.app.web.recording import refuse_faulty
from closedcup.app.web.rendering import Visit, page, see, status_of
from closedcup.app.web.transcribing import observed
from closedcup.errors import ClosedcupError, Conflict, InputError
from closedcup.laboratory import Series
from closedcup.methods import (
    Determination,
    Method,
    MoveWithdrawn,
    Observation,
    RampStarted,
    determinations,
)
from closedcup.quantities import parse_pressure

SEEN_AT_ONCE: Final = (Observation.NO_FLASH, Observation.FLASH)
SEEN_BESIDES: Final = tuple(seen for seen in Observation if seen not in SEEN_AT_ONCE)
_DETECTOR: Final = {"flash": True, "no flash": False}


def show(visit: Visit) -> Response:
    """Show a series exactly where it stands."""
    return _answer(visit, visit.form)


def act(visit: Visit) -> Response:
    """Record one press; a refused one records nothing and keeps everything that was typed."""
    form = visit.form
    series_id = visit.path("series")
    press, _, detail = form.text("press").partition(":")
    try:
        _refuse_overtaken(visit, series_id)
        used = _pressed(press)(visit, series_id, detail)
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        return _answer(visit, form, status=status_of(error, visit.request.path_params))
    kept = {name: text for name, text in form.typed.items() if text and name not in used}
    for of_this_page_only in ("press", "seen", "cup", "detector", "automatic"):
        kept.pop(of_this_page_only, None)
    if visit.is_swap or kept:
        return _answer(visit, Form(kept), is_after_press=True)
    return see(f"/bench/{series_id}")


def _pressed(press: str) -> Callable[[Visit, str, str], set[str]]:
    """Return what a button does; it answers the names of the fields that it has used up."""
    actions: dict[str, Callable[[Visit, str, str], set[str]]] = {
        "cup": _showing(benching.set_cup),
        "specimen": _showing(benching.load_specimen),
        "recovered": _showing(benching.note_recovery),
        "ramp": _start_ramp,
        "saw": _apply,
        "withdraw": _withdraw,
        "deviation": _note,
        "rate": _check_rate,
        "end": _end,
    }
    if press not in actions:
        raise InputError(
            "press-unknown", "No button says that.", where="bench", fix="Use the page's buttons."
        )
    return actions[press]


def _refuse_overtaken(visit: Visit, series_id: str) -> None:
    """Raise Conflict when another entry was made after this page was shown."""
    form = visit.form
    series = benching.bench(visit.opened, series_id).series
    if form.text("seen") in {"", str(len(series.moves))}:
        return
    if visit.opened.store.settle(form.key) is None:
        raise Conflict(
            "page-overtaken",
            "An entry was made since this page was shown; nothing was recorded now.",
            where=f"series {series_id}",
            fix="The page now shows where the series stands. Look, then press again.",
        )


def _showing(record: Callable[..., object]) -> Callable[[Visit, str, str], set[str]]:
    """Return a button that records a step with what the cup shows."""

    def press(visit: Visit, series_id: str, _: str) -> set[str]:
        cup_c, when = _cup_c(visit.form), observed(visit)
        record(visit.opened, series_id, cup_c, key=visit.form.key, **when)
        return {"observed_at"}

    return press


def _start_ramp(visit: Visit, series_id: str, _: str) -> set[str]:
    cup_c, form = _cup_c(visit.form), visit.form
    benching.start_ramp(
        visit.opened,
        series_id,
        cup_c,
        automatic=form.checked("automatic"),
        key=form.key,
        **observed(visit),
    )
    return {"observed_at"}


def _apply(visit: Visit, series_id: str, seen: str) -> set[str]:
    form = visit.form
    cup_c = _cup_c(form)
    corrected_for = form.parsed("corrected_for", parse_pressure)
    refuse_faulty(form)
    benching.apply_igniter(
        visit.opened,
        series_id,
        cup_c,
        read_observation(seen),
        detector=_DETECTOR.get(form.text("detector")),
        already_corrected_for=corrected_for,
        corrected_by=form.text("corrected_by") if corrected_for is not None else "",
        key=form.key,
        **observed(visit),
    )
    return {
        "corrected_for",
        "corrected_by",
        "observed_at",
    }  # the page takes them from the last reading


def _withdraw(visit: Visit, series_id: str, index: str) -> set[str]:
    form = visit.form
    if not index.isdigit():
        raise InputError("entry-unknown", "Which entry?", where="withdraw")
    field = f"reason-{index}"
    reason = form.text(field, required="Say in a few words what was wrong with the entry.")
    refuse_faulty(form)
    benching.withdraw(visit.opened, series_id, int(index), reason, key=form.key, **observed(visit))
    return {field, "observed_at"}


def _check_rate(visit: Visit, series_id: str, _: str) -> set[str]:
    form = visit.form
    rate = form.number("rate", required="Enter the rate that you measured, in °C a minute.")
    refuse_faulty(form)
    if rate is not None:
        benching.check_rate(visit.opened, series_id, float(rate), key=form.key, **observed(visit))
    return {"rate", "observed_at"}


def _note(visit: Visit, series_id: str, _: str) -> set[str]:
    form = visit.form
    text = form.text("deviation", required="Say what was not done as the method says.")
    refuse_faulty(form)
    benching.note_deviation(visit.opened, series_id, text, key=form.key, **observed(visit))
    return {"deviation", "observed_at"}


def _end(visit: Visit, series_id: str, _: str) -> set[str]:
    form = visit.form
    reason = form.text("end", required="Say why it ends here, for example: sample used up.")
    refuse_faulty(form)
    benching.end_series(visit.opened, series_id, reason, key=form.key, **observed(visit))
    return {"end", "observed_at"}


def _cup_c(form: Form) -> Any:
    cup_c = form.number("cup", required="Enter what the cup shows.")
    refuse_faulty(form)
    return cup_c


def _answer(
    visit: Visit, form: Form, *, status: int = 200, is_after_press: bool = False
) -> Response:
    """Show the series, whole or (for a swap) its part."""
    series_id = visit.path("series")
    view = benching.bench(visit.opened, series_id)
    facts = bench_overview(visit.opened, series_id)
    entries = _with_what_it_counts_as(facts["entries"], determinations(view.state))
    standing = [entry for entry in entries if _stands(entry)]
    last = standing[-1] if standing else None
    return page(
        visit,
        "bench_part.html" if visit.is_swap else "bench.html",
        status=status,
        form=form,
        view=view,
        bench=facts | {"entries": entries},
        asked=asked_words(view.test),
        step=view.instruction,
        last=last,
        withdrawable=[
            entry for entry in standing if entry is not last and _can_be_withdrawn(entry)
        ],
        corrected_before=_last_correction(view.series),
        picture=series_picture(view),
        belief=belief_panel(visit.opened, view),
        now=visit.opened.clock().isoformat(),
        at_once=SEEN_AT_ONCE,
        asks_rate=view.method.kind != "equilibrium"
        and any(isinstance(one.move, RampStarted) for one in view.series.moves),
        besides=_besides(view.method),
        result=visit.opened.state.result_of(view.test.id),
        is_after_press=is_after_press,
        do_first=_do_first(last),
        people=people(visit.opened),
    )


def _besides(method: Method) -> tuple[Observation, ...]:
    """Return what else can be seen; nobody sees into a cup that stays closed."""
    if method.procedure != "continuously closed":
        return SEEN_BESIDES
    return (Observation.IGNITER_OUT, Observation.BOIL_OVER, Observation.SPECIMEN_LOST)


def _with_what_it_counts_as(
    entries: list[dict[str, Any]], made: tuple[Determination, ...]
) -> list[dict[str, Any]]:
    """Put beside each entry what it counts as and why, and the name of its field for a reason."""
    by_entry = {one.move_index: one for one in made}
    rows = []
    for entry in entries:
        one = by_entry.get(entry["number"])
        seen = None if entry["seen"] is None else Observation(entry["seen"])
        row = entry | {
            "field": f"reason-{entry['number']}",
            "symbol": None if seen is None else seen.counts_as,
            "remarks": (),
            "status": "",
        }
        if one is not None:
            status = "" if one.status == "valid" else one.status
            row |= {
                "symbol": "void"
                if one.status == "void" and one.counts_as != "stop"
                else one.counts_as,
                "remarks": (*one.deviations, *one.remarks),
                "status": "" if one.status == "withdrawn" else status,
            }
        rows.append(row)
    return rows


def _do_first(last: dict[str, Any] | None) -> tuple[str, str]:
    """Return what was seen and what must be done before anything else, where that is so."""
    if last is None or last["seen"] is None:
        return ("", "")
    seen = Observation(last["seen"])
    return (seen.value, seen.next_step) if seen.counts_as in {"void", "stop"} else ("", "")


def _stands(entry: dict[str, Any]) -> bool:
    return not entry["withdrawn"] and not entry["what"].startswith("entry ")


def _can_be_withdrawn(entry: dict[str, Any]) -> bool:
    """Say whether an entry may be withdrawn though others follow: what was seen, a deviation."""
    return entry["seen"] is not None or entry["what"].startswith("deviation")


def _last_correction(series: Series) -> tuple[str, str]:
    """Return pressure and person of the last reading that came already corrected, if it did."""
    for recorded in reversed(series.moves):
        if recorded.reading is not None and not isinstance(recorded.move, MoveWithdrawn):
            pressure = recorded.reading.already_corrected_for
            return ("" if pressure is None else str(pressure), recorded.reading.corrected_by)
    return ("", "")
