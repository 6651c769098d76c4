"""The keeping of a sample, on its page: custody, openings, retention, the customer, its label."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from starlette.responses import Response

from closedcup.app.usecases.desk import custody, customer, labels, retention
from closedcup.app.web.forms import Form, parse_number
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit
from closedcup.app.web.samples import sample_page
from closedcup.errors import InputError
from closedcup.quantities import Volume, parse_temperature

_LOOPBACK = ("127.0.0.1", "localhost", "::1")


def act(visit: Visit) -> Response:
    """Record what a form of the keeping part says."""
    acts: dict[str, Callable[[Visit, str, dict[str, Any]], object]] = {
        "hand-over": _hand_over,
        "open": _open,
        "left": _left,
        "agree": _agree,
        "question": _question,
        "go-ahead": _go_ahead,
        "told": _told,
        "dispose": _dispose,
    }
    name, sample, form = visit.path("act"), visit.path("sample"), visit.form
    if name not in acts:
        raise InputError("page-unknown", "There is no such page.", where=name)

    def record() -> None:
        seen = form.text("seen")
        once = {"key": form.key}
        overtaken = {"seen": int(seen)} if seen.isdecimal() else {}
        acts[name](visit, sample, once | overtaken)

    return recorded(
        visit,
        record,
        lambda status: sample_page(visit, sample, faulty=name, status=status),
        f"/samples/{quote(sample, safe='')}#keeping",
    )


def _hand_over(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    form = visit.form
    taker = form.text("to") or form.text("to_outside", required="Say who takes it.")
    place = form.text("place", required="Say where it stands now.")
    refuse_faulty(form)
    custody.hand_over(visit.opened, sample, taker, place, **once)


def _open(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    form = visit.form
    shows = form.parsed("shows", parse_number)
    why = form.text("why", required="Say what it is opened for.")
    refuse_faulty(form)
    read = None if shows is None else parse_temperature(f"{shows} degC", where="shows")
    custody.open_sample(visit.opened, sample, why, read, **once)


def _left(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    form = visit.form
    left_ml = form.number("left_ml", required="Enter what is left, in mL.")
    why = form.text("left_why", required="Say why it is not what the record reckons.")
    refuse_faulty(form)
    custody.note_left(visit.opened, sample, Volume(left_ml or Decimal(0), "mL"), why, **once)


def _agree(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    form = visit.form
    today = visit.opened.clock().date()
    sample_now = visit.opened.state.samples[sample]
    due = form.text("due")
    if due != sample_now.due:
        form.parsed("due", lambda text: retention.as_due(text, today))
    until = form.text("keep_until")
    if until != sample_now.keep_until:
        form.parsed("keep_until", lambda text: retention.as_keep_until(text, today))
    back_ml = form.number("kept_back_ml")
    days = form.parsed("keep_days", whole_days)
    reason = form.text("reason", required="Say why it is agreed anew, and with whom.")
    refuse_faulty(form)
    retention.agree_keeping(
        visit.opened,
        sample,
        reason,
        priority=form.text("priority"),
        due=due,
        keep_until=until,
        keep_days=days,
        kept_back=None if back_ml is None else Volume(back_ml, "mL"),
        **once,
    )


def whole_days(text: str) -> int | None:
    """Read a number of days; InputError for one that is not whole or not possible."""
    if not text.isdecimal():
        raise InputError("not-whole-days", f"“{text}” is not a number of days.", fix="Write 30.")
    return retention.as_keep_days(int(text))


def _question(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    what = visit.form.text("what", required="Say what is wrong with it.")
    refuse_faulty(visit.form)
    customer.question_condition(visit.opened, sample, what, key=once["key"])


def _go_ahead(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    form = visit.form
    said_by = form.text("customer", required="Say who of the customer said it.")
    words = form.text("words", required="Say what they said.")
    way = form.text("way", required="Say by which way.")
    proceed = form.text("decision", required="Choose what they decided.") == "proceed"
    refuse_faulty(form)
    customer.record_go_ahead(
        visit.opened, sample, said_by, way, words, proceed=proceed, key=once["key"]
    )


def _told(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    del sample
    form = visit.form
    told = form.text("told", required="Say who was told.")
    way = form.text("way", required="Say by which way.")
    said = form.text("said", required="Say what they said.")
    refuse_faulty(form)
    customer.tell_out_of_specification(
        visit.opened, form.text("result"), told, way, said, key=once["key"]
    )


def _dispose(visit: Visit, sample: str, once: dict[str, Any]) -> None:
    form = visit.form
    how = form.text("how", required="Say how and where it goes.")
    refuse_faulty(form)
    early = form.text("early_because")
    retention.dispose(visit.opened, sample, how, early_because=early, **once)


def label(visit: Visit) -> Response:
    """Send the label of a sample, as SVG or as PDF of the label's own size."""
    sample, form = visit.path("sample"), visit.path("form")
    content = labels.label_file(visit.opened, sample, f"label.{form}", address(visit))
    kind = "image/svg+xml" if form == "svg" else "application/pdf"
    name = quote(f"label-{sample}.{form}")
    shown = {"Content-Disposition": f"inline; filename*=UTF-8''{name}"}
    return Response(content, media_type=kind, headers=shown)


def sheet(visit: Visit) -> Response:
    """Send an A4 sheet with the labels of the samples that were ticked."""
    chosen = visit.request.query_params.getlist("sample")
    skip = Form({"skip": visit.query("skip")}).parsed("skip", whole_days) or 0
    content = labels.label_sheet(visit.opened, chosen, address(visit), skip=skip)
    shown = {"Content-Disposition": 'inline; filename="labels.pdf"'}
    return Response(content, media_type="application/pdf", headers=shown)


def address(visit: Visit) -> str:
    """Return how others reach the pages; empty where only this PC does."""
    url = visit.request.base_url
    return "" if (url.hostname or "") in _LOOPBACK else f"{url.scheme}://{url.netloc}"
