"""Which apparatus a test comes to: of those that can run it the quickest; why not the others."""

from dataclasses import dataclass
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.verification_due import due
from closedcup.app.usecases.bench.unfinished import tests_without_result
from closedcup.app.usecases.nonconforming.doubts import active_hold
from closedcup.app.usecases.planning.planned_starts import Known, start_on
from closedcup.errors import ClosedcupError, Refused
from closedcup.laboratory import Apparatus, ApparatusState
from closedcup.planning import Start
from closedcup.quantities import Pressure

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Candidate:
    """An apparatus that can run a test, with the start there and what speaks for and against it.

    order: the smaller, the better: to be verified first, then occupied, then minutes at the cup.
    """

    apparatus: Apparatus
    start: Start
    facts: Answer
    order: tuple[bool, bool, float]
    words: str


def choose_apparatus(
    opened: OpenLaboratory, known: Known, pressure: Pressure
) -> tuple[Candidate, tuple[str, ...]]:
    """Return the apparatus for a test and why it, in sentences that name every other one.

    It must run the method, be in service, not be held or out of control, and reach what is
    expected. Among those: one in control before one to be verified first, a free one before an
    occupied one, then the one with the fewest minutes from what its cup shows now at its rates.
    Refused where there is none, with what stands against each.
    """
    able: list[Candidate] = []
    against: list[str] = []
    for apparatus in opened.state.apparatus.values():
        why_not = _why_not(opened, known, apparatus)
        if why_not:
            against.append(f"{apparatus.id} is left out: {why_not}")
            continue
        try:
            able.append(_candidate(opened, known, apparatus, pressure))
        except ClosedcupError as error:
            against.append(f"{apparatus.id} is left out: {error.what}")
    if not able:
        raise Refused(
            "no-apparatus",
            f"No apparatus can run {known.test.method} for this sample now. "
            + (" ".join(against) or "None is registered."),
            where=f"test {known.test.id}",
            fix="See to what is named there, or request the test by another method.",
        )
    able.sort(key=lambda one: (one.order, one.apparatus.id))
    first, *others = able
    why = [f"{first.apparatus.id} is chosen: {first.words}."]
    why += [f"{one.apparatus.id} comes after it: {one.words}." for one in others]
    return first, (*why, *against)


def _why_not(opened: OpenLaboratory, known: Known, apparatus: Apparatus) -> str:
    ledger, method_id = opened.state, known.test.method
    if method_id not in apparatus.methods:
        return f"it does not run {method_id}."
    state = ledger.apparatus_state(apparatus.id, method_id)
    if state in {ApparatusState.REGISTERED, ApparatusState.OUT_OF_CONTROL}:
        return f"it is {state}."
    hold = active_hold(ledger, "apparatus", apparatus.id)
    if hold is not None:
        return f"it is held ({hold.id}): {hold.reason}"
    return ""


def _candidate(
    opened: OpenLaboratory, known: Known, apparatus: Apparatus, pressure: Pressure
) -> Candidate:
    start, facts = start_on(opened, known, apparatus, pressure)
    _refuse_out_of_reach(known, apparatus, start)
    state = opened.state.apparatus_state(apparatus.id, known.test.method)
    occupied = _occupied_by(opened, known, apparatus.id)
    minutes = _minutes(start, facts)
    falls_due = due(opened.state, apparatus.id, known.test.method)
    overdue = falls_due is not None and falls_due <= opened.clock()
    words = [
        f"{state}, its verification overdue" if overdue else str(state),
        f"occupied by {occupied}" if occupied else "free",
        f"about {minutes:.0f} min from {facts['cup_now_c']:g} °C ({facts['cup_now_known']}), "
        f"heating {facts['heats_c_per_min']:g} and cooling {facts['cools_c_per_min']:g} °C/min"
        + (" (assumed)" if facts["rates_assumed"] else ""),
    ]
    order = (state is not ApparatusState.IN_CONTROL or overdue, bool(occupied), minutes)
    return Candidate(apparatus, start, facts, order, "; ".join(words))


def _minutes(start: Start, facts: Answer) -> float:
    """Return the minutes at the cup; to its start only, where no search is reckoned."""
    if facts["planned"] is not None:
        return float(facts["planned"]["minutes"])
    up_c = start.start_cup_c - facts["cup_now_c"]
    rate = facts["heats_c_per_min"] if up_c >= 0 else facts["cools_c_per_min"]
    return float(abs(up_c) / rate)


def _refuse_out_of_reach(known: Known, apparatus: Apparatus, start: Start) -> None:
    expected_c = start.expected_corrected_c
    highest_c = float(apparatus.highest_cup_c)
    if expected_c is not None and expected_c > highest_c:
        raise Refused(
            "out-of-reach",
            f"its cup reaches {highest_c:g} °C, and {expected_c:.0f} °C is expected.",
            where=f"apparatus {apparatus.id}",
        )
    lowest_c = float(apparatus.lowest_cup_c)
    lowest_expected_c = min((one for one, _ in known.knowledge.ceilings()), default=None)
    if lowest_expected_c is not None and lowest_expected_c < lowest_c:
        raise Refused(
            "out-of-reach",
            f"its cup cools to {lowest_c:g} °C, and the flash point may lie at "
            f"{lowest_expected_c:.0f} °C.",
            where=f"apparatus {apparatus.id}",
        )


def _occupied_by(opened: OpenLaboratory, known: Known, apparatus: str) -> str:
    """Return the series under way at an apparatus, empty where there is none."""
    ledger = opened.state
    for test in tests_without_result(opened):
        series = ledger.series_under_way(test.id)
        if series is not None and series.apparatus == apparatus and test.id != known.test.id:
            return series.id
    return ""
