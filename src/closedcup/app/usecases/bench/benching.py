"""Run determinations: begin a series, say what to do next, record what was done and seen.

The procedure itself lives in `methods`; here its moves become events with a time and a person,
and a series is always where its events say it is, whatever happened in between.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TypedDict, Unpack

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.bench_warnings import bench_warnings
from closedcup.app.usecases.desk.volumes import refuse_overdrawn, volume_left_ml
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of_series
from closedcup.app.usecases.people.qualifying import refuse_unauthorised
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Apparatus, Reading, RequestedTest, Sample, Series
from closedcup.methods import (
    CupRecovered,
    CupSet,
    DeviationNoted,
    FiniteAim,
    IgniterApplied,
    Instruction,
    LimitAim,
    Method,
    Move,
    MoveWithdrawn,
    Observation,
    Outcome,
    RampStarted,
    RateChecked,
    SeriesEnded,
    SpecimenLoaded,
    State,
    advance,
    begin,
    correction_c,
    instruction,
    outcome,
    replay,
    standing_moves,
)
from closedcup.quantities import Pressure
from closedcup.records.encoding import to_body
from closedcup.records.folding import EVENT_OF_MOVE
from closedcup.records.ledger import Ledger

# Said about the others, at any time and by anybody who may
_ASIDE = (MoveWithdrawn, DeviationNoted, SeriesEnded)


@dataclass(frozen=True, slots=True)
class BenchView:
    """A series as it stands: what was done, what to do now and why."""

    series: Series
    test: RequestedTest
    sample: Sample
    apparatus: Apparatus
    method: Method
    state: State
    instruction: Instruction
    outcome: Outcome | None
    dwell_from: datetime | None
    dwell_ends_at: datetime | None
    volume_left_ml: float
    warnings: tuple[str, ...]


def bench(opened: OpenLaboratory, series_id: str) -> BenchView:
    """Return a series as it stands and what to do next."""
    ledger = opened.state
    series = find(ledger.series, series_id, "series")
    test = ledger.tests[series.test]
    sample = ledger.samples[test.sample]
    state = _state(ledger, series)
    step = instruction(state)
    dwell_from = _dwell_from(series) if step.action == "wait and apply" else None
    left_ml = volume_left_ml(ledger, sample)
    waits_s = step.dwell_s if dwell_from is not None else None
    return BenchView(
        series=series,
        test=test,
        sample=sample,
        apparatus=ledger.apparatus[series.apparatus],
        method=state.method,
        state=state,
        instruction=step,
        outcome=outcome(state),
        dwell_from=dwell_from,
        dwell_ends_at=dwell_from + timedelta(seconds=waits_s)
        if dwell_from is not None and waits_s is not None
        else None,
        volume_left_ml=left_ml,
        warnings=bench_warnings(ledger, series, state.method, step, left_ml),
    )


def aim_for(test: RequestedTest, expected_corrected_c: float | None) -> FiniteAim | LimitAim:
    """Return what a test is for, in the procedure's terms."""
    if test.kind == "limit" and test.limit is not None:
        return LimitAim(test.limit)
    return FiniteAim(step_c=test.step_c, expected_corrected_c=expected_corrected_c)


def _state(ledger: Ledger, series: Series) -> State:
    test = ledger.tests[series.test]
    apparatus = ledger.apparatus[series.apparatus]
    first = begin(
        method_of_series(ledger, series),
        aim_for(test, ledger.plans[test.id].start["expected_corrected_c"]),
        start_cup_c=float(series.start_cup_c),
        pressure_kpa=series.pressure.kpa,
        probe_correction_c=None
        if series.probe_correction_c is None
        else float(series.probe_correction_c),
        product=ledger.samples[test.sample].kind or None,
        apparatus_low_cup_c=float(apparatus.lowest_cup_c),
        apparatus_high_cup_c=float(apparatus.highest_cup_c),
        seeks_volatile=bool(ledger.samples[test.sample].suspected),
    )
    return replay(first, [recorded.move for recorded in series.moves])


def _dwell_from(series: Series) -> datetime | None:
    """Return when the dwell of the last specimen began: at its loading, or the cup's recovery."""
    steps = standing_moves([recorded.move for recorded in series.moves])
    began = [index for index, step in steps if isinstance(step, SpecimenLoaded | CupRecovered)]
    return datetime.fromisoformat(series.moves[began[-1]].observed_at) if began else None


class Entered(TypedDict, total=False):
    """How an entry came about.

    key makes it safe to send twice. observed_at, observed_by: when it was seen and by whom, where
    that is not now and not the person who enters it.
    """

    key: str | None
    observed_at: datetime | None
    observed_by: str | None


def set_cup(
    opened: OpenLaboratory, series_id: str, cup_c: Decimal, **entered: Unpack[Entered]
) -> BenchView:
    """Record that the cup is set to a temperature."""
    return _record(opened, series_id, CupSet(float(cup_c)), **entered)


def load_specimen(
    opened: OpenLaboratory,
    series_id: str,
    cup_c: Decimal,
    *,
    volume_ml: float | None = None,
    **entered: Unpack[Entered],
) -> BenchView:
    """Record that the next fresh specimen went into the cup, which then showed `cup_c`."""
    view = bench(opened, series_id)
    if view.instruction.action != "load specimen" and opened.recorded(entered.get("key")):
        return view
    volume = volume_ml or view.instruction.specimen_ml
    if view.instruction.action != "load specimen":
        raise Refused(
            "forbidden-move",
            "No specimen is to be loaded now.",
            where=f"series {series_id}",
            fix=view.instruction.why,
        )
    refuse_overdrawn(view.sample, view.volume_left_ml, volume)
    move = SpecimenLoaded(view.instruction.specimen, volume, float(cup_c))
    return _record(opened, series_id, move, **entered)


def note_recovery(
    opened: OpenLaboratory, series_id: str, cup_c: Decimal, **entered: Unpack[Entered]
) -> BenchView:
    """Record that the cup shows its set temperature again after a loading."""
    return _record(opened, series_id, CupRecovered(float(cup_c)), **entered)


def start_ramp(
    opened: OpenLaboratory,
    series_id: str,
    cup_c: Decimal,
    *,
    automatic: bool = True,
    **entered: Unpack[Entered],
) -> BenchView:
    """Record that heating at the method's rate began."""
    return _record(opened, series_id, RampStarted(float(cup_c), automatic), **entered)


def check_rate(
    opened: OpenLaboratory, series_id: str, degc_per_min: float, **entered: Unpack[Entered]
) -> BenchView:
    """Record the heating rate as measured with a clock while the ramp was running."""
    return _record(opened, series_id, RateChecked(degc_per_min), **entered)


def apply_igniter(
    opened: OpenLaboratory,
    series_id: str,
    displayed_c: Decimal,
    eye: Observation,
    *,
    detector: bool | None = None,
    already_corrected_for: Pressure | None = None,
    corrected_by: str = "",
    **entered: Unpack[Entered],
) -> BenchView:
    """Record one application of the igniter: what was displayed and what was seen.

    A display that was already corrected to 101.3 kPa is brought back to the cup's own
    temperature with the pressure that was used, so that the result's chain corrects it once.
    """
    ledger = opened.state
    series = find(ledger.series, series_id, "series")
    moment = entered.get("observed_at") or opened.clock()
    dwell_from = _dwell_from(series)
    cup_c = float(displayed_c)
    if already_corrected_for is not None:
        cup_c = round(cup_c - float(correction_c(already_corrected_for.kpa)), 6)
    method = method_of_series(ledger, series)
    if method.procedure == "continuously closed" and eye.counts_as in {"flash", "no flash"}:
        detector = eye.counts_as == "flash" if detector is None else detector  # all there is to see
    dwells = bool(method.specimens[0].dwell)
    move = IgniterApplied(
        cup_c=cup_c,
        eye=eye,
        detector=detector,
        dwell_s=(moment - dwell_from).total_seconds() if dwell_from and dwells else None,
    )
    reading = Reading(displayed_c, already_corrected_for, corrected_by)
    return _record(opened, series_id, move, reading=reading, moment=moment, **entered)


def withdraw(
    opened: OpenLaboratory, series_id: str, index: int, reason: str, **entered: Unpack[Entered]
) -> BenchView:
    """Withdraw an entry made in error; it stays visible, with the reason."""
    if not reason.strip():
        raise InputError(
            "reason-missing",
            "An entry is withdrawn with a reason.",
            where=f"series {series_id}, entry {index}",
            fix="Say in a few words what was wrong with it.",
        )
    return _record(opened, series_id, MoveWithdrawn(index, reason.strip()), **entered)


def note_deviation(
    opened: OpenLaboratory, series_id: str, text: str, **entered: Unpack[Entered]
) -> BenchView:
    """Record something that was not done as the method says; the report states it."""
    if not text.strip():
        raise InputError(
            "deviation-empty", "The deviation has no words.", where=f"series {series_id}"
        )
    return _record(opened, series_id, DeviationNoted(text.strip()), **entered)


def end_series(
    opened: OpenLaboratory, series_id: str, reason: str, **entered: Unpack[Entered]
) -> BenchView:
    """End a series before its method was carried through; the result says what is known."""
    return _record(opened, series_id, SeriesEnded(reason.strip()), **entered)


def _record(
    opened: OpenLaboratory,
    series_id: str,
    move: Move,
    *,
    reading: Reading | None = None,
    moment: datetime | None = None,
    **entered: Unpack[Entered],
) -> BenchView:
    """Let the procedure accept the move, then append it; a refused move records nothing."""
    key, observed_by = entered.get("key"), entered.get("observed_by")
    if opened.recorded(key) is not None:
        return bench(opened, series_id)
    ledger = opened.state
    series = find(ledger.series, series_id, "series")
    if ledger.results_of(series.test) and ledger.series_under_way(series.test) != series:
        raise Refused(
            "series-closed",
            f"A result was issued for test {series.test}; its series takes no more entries.",
            where=f"series {series_id}",
            fix="Request a new test on the sample, or supersede the result: closedcup supersede",
        )
    if observed_by is not None:
        find(ledger.people, observed_by, "person")
    _refuse_out_of_order(series, move, entered.get("observed_at"))
    if not isinstance(move, _ASIDE):
        day = (entered.get("observed_at") or moment or opened.clock()).date().isoformat()
        method_id = ledger.tests[series.test].method
        refuse_unauthorised(ledger, observed_by or opened.by, method_id, day)
    advance(_state(ledger, series), move)
    body = {
        "move": to_body(move),
        "reading": None if reading is None else to_body(reading),
        "observed_by": observed_by,
    }
    opened.record(
        EVENT_OF_MOVE[type(move)],
        series_id,
        body,
        key=key,
        observed_at=entered.get("observed_at") or moment,
        reason=move.reason if isinstance(move, MoveWithdrawn | SeriesEnded) else "",
    )
    return bench(opened, series_id)


def _refuse_out_of_order(series: Series, move: Move, observed_at: datetime | None) -> None:
    """Refuse a moment before that of the last step: the steps are entered as they happened."""
    steps = standing_moves([recorded.move for recorded in series.moves])
    done = [series.moves[index] for index, step in steps if not isinstance(step, _ASIDE)]
    if observed_at is None or not done or isinstance(move, _ASIDE):
        return
    last_at = datetime.fromisoformat(done[-1].observed_at)
    if observed_at < last_at:
        raise InputError(
            "moment-out-of-order",
            f"{observed_at:%H:%M:%S} is before the last entry, which was observed at "
            f"{last_at:%Y-%m-%d %H:%M:%S}.",
            where="observed at",
            fix="Enter the lines in the order in which they happened. If the last entry's time is "
            "wrong, withdraw it with a reason and enter it again.",
        )
