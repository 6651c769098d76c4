"""The order of today's work, read from the records anew each time it is asked for."""

import math
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.doubts import active_hold
from closedcup.app.usecases.lookup import find
from closedcup.errors import ClosedcupError
from closedcup.laboratory import ApparatusState, RequestedTest, Sample
from closedcup.methods import cup_reading_c, method, settable
from closedcup.mixtures import find as find_liquid
from closedcup.planning.day import DayCup, DayEntry, DayTest, day_order
from closedcup.planning.pace import pace_numbers, usual_pace
from closedcup.quantities import Temperature
from closedcup.records.facts import Plan
from closedcup.records.ledger import Ledger
from closedcup.sources import Cited

Answer = dict[str, Any]

_SPECIMENS_UNKNOWN = 8  # a cold start; the plan says that the number is not known (judgement)


def order_of_the_day(
    opened: OpenLaboratory,
    *,
    chilled: Collection[str] = (),
    room: Temperature | None = None,
) -> Answer:
    """Return what to do today in which order, with times from now, and what is left out and why.

    chilled: samples that are cold enough to open now; others that need it count as cold after
    the usual time. What was done since the last time is no longer on the list.
    """
    ledger, now = opened.state, opened.clock()
    for sample in chilled:
        find(ledger.samples, sample, "sample")
    room_c = pace_numbers()["room"].value if room is None else room.c
    tests: list[DayTest] = []
    left_out: list[Answer] = []
    for test in ledger.tests.values():
        if ledger.result_of(test.id) is not None:
            continue
        why, fix = _held_back(ledger, test)
        if why:
            left_out.append({"test": test.id, "sample": test.sample, "why": why, "fix": fix})
        else:
            tests.append(_day_test(ledger, test, room_c, chilled))
    cups = [_day_cup(ledger, name, tests, now, room_c) for name in ledger.apparatus]
    entries = day_order(tests, cups)
    return {
        "now": now.isoformat(),
        "entries": [_entry(one, now) for one in entries],
        "ends": _at(now, entries[-1].ends_min) if entries else None,
        "left_out": left_out,
        "room_c": room_c,
        "sources": [cited.as_json(name) for name, cited in pace_numbers().items()],
    }


def _held_back(ledger: Ledger, test: RequestedTest) -> tuple[str, str]:
    """Return why a test cannot be made today and what would change that; empty when it can."""
    plan, series = ledger.plans.get(test.id), ledger.series_under_way(test.id)
    if plan is None:
        return "It has no plan.", f"closedcup plan {test.id}"
    if plan.decision == "refuse":
        return "The stop list refuses it.", ""
    review = ledger.reviews.get(test.id)
    if review is not None and not review.proceed:
        return "The reviewer refused it.", ""
    if plan.decision == "named reviewer" and review is None:
        return "The stop list asks for a named reviewer.", f"closedcup review {test.id}"
    name = series.apparatus if series else str(plan.start["apparatus"])
    if ledger.apparatus_state(name, test.method) is ApparatusState.REGISTERED:
        return f"{name} is not in service.", f"closedcup put-into-service {name}"
    if (hold := active_hold(ledger, "apparatus", name)) is not None:
        return f"{name} is held ({hold.id}): {hold.reason}", f"closedcup lift {hold.id}"
    hot = _too_near_autoignition(ledger.samples[test.sample], plan)
    return (hot, "Ask the reviewer.") if hot and review is None else ("", "")


def _too_near_autoignition(sample: Sample, plan: Plan) -> str:
    """Say when the cup may come near the autoignition temperature of a declared component."""
    margin_c = pace_numbers()["autoignition_margin"].value
    hottest_c = plan.start_cup_c
    if plan.estimate is not None:
        hottest_c = max(hottest_c, _cup_c(plan, plan.estimate["high_c"]))
    for part in sample.composition.components:
        try:
            known = find_liquid(part.name).properties.get("autoignition_c")
        except ClosedcupError:  # a component that the catalogue does not know says nothing here
            continue
        if known is not None and hottest_c > known.value - margin_c:
            return (
                f"{part.name} ignites by itself at {known.value:g} °C and the cup may reach "
                f"{hottest_c:.0f} °C."
            )
    return ""


def _day_test(
    ledger: Ledger, test: RequestedTest, room_c: float, chilled: Collection[str]
) -> DayTest:
    plan, series = ledger.plans[test.id], ledger.series_under_way(test.id)
    sample, chosen = ledger.samples[test.sample], method(test.method)
    rule = chosen.specimen_rule(sample.kind or chosen.default_product, plan.start_cup_c)
    pace = usual_pace(dwell_min=(rule.dwell.value if rule.dwell is not None else 60) / 60)
    expected = plan.start["specimens_expected"]
    specimens = int(expected) if expected is not None else _SPECIMENS_UNKNOWN
    done = sum(type(one.move).__name__ == "IgniterApplied" for one in series.moves) if series else 0
    left = max(specimens - done, 1)
    open_at_c = _open_at_most_c(chosen.numbers, plan)
    needs_cold = open_at_c < room_c
    is_cold = not needs_cold or test.sample in chilled or bool(series)
    return DayTest(
        test=test.id,
        sample=test.sample,
        apparatus=series.apparatus if series else str(plan.start["apparatus"]),
        start_cup_c=plan.start_cup_c,
        specimens=left,
        minutes=left * (pace.loading_min + pace.dwell_min) + (left - 1) * pace.cleaning_min,
        open_at_most_c=open_at_c if needs_cold else None,
        ready_min=0.0 if is_cold else pace_numbers()["chilling"].value,
        is_dirty=sample.is_waste or sample.composition.trust == "unknown",
        is_begun=bool(series),
    )


def _open_at_most_c(numbers: Mapping[str, Cited], plan: Plan) -> float:
    """Return how cold the sample must be to be opened: so far below what is expected.

    From the lowest that the estimate allows, at the plan's pressure; where nothing is expected, as
    cold as the start.
    """
    below = numbers.get("chill_below_expected")
    below_c = 0.0 if below is None else below.value
    expected_c = plan.start["expected_corrected_c"]
    if plan.estimate is not None:
        expected_c = plan.estimate["low_c"]
    lowest_c = plan.start_cup_c if expected_c is None else _cup_c(plan, expected_c) - below_c
    return float(math.floor(lowest_c))


def _cup_c(plan: Plan, corrected: float) -> float:
    """Return what happens at a corrected temperature at the plan's pressure."""
    pressure_kpa = float(plan.start["pressure_kpa"])
    return cup_reading_c(float(corrected), pressure_kpa=pressure_kpa, probe_correction_c=None)


def _day_cup(
    ledger: Ledger, name: str, tests: list[DayTest], now: datetime, room_c: float
) -> DayCup:
    pace = usual_pace(at_cup_c=room_c)
    ids = sorted({ledger.tests[one.test].method for one in tests if one.apparatus == name})
    due = [(each, _verification_due(ledger, name, each, now)) for each in ids]
    due = [(each, why) for each, why in due if why]
    if not due:
        return DayCup(name, pace)
    plan = next(ledger.plans[one.test] for one in tests if one.apparatus == name)
    values = [
        settable(_cup_c(plan, float(material.value_c)))
        for material in ledger.materials.values()
        if any(method(each).designation == method(material.method).designation for each, _ in due)
    ]
    why = " ".join(f"{each}: {words}" for each, words in due)
    if not values:
        why += " No reference material for it is on record."
    specimens = _SPECIMENS_UNKNOWN
    each_min = pace.loading_min + pace.dwell_min + pace.cleaning_min
    return DayCup(name, pace, why, min(values, default=None), specimens * each_min)


def _verification_due(ledger: Ledger, name: str, method_id: str, now: datetime) -> str:
    state = ledger.apparatus_state(name, method_id)
    if state is not ApparatusState.IN_CONTROL:
        return f"{state}."
    last = datetime.fromisoformat(ledger.verifications_for(name, method_id)[-1].verified_at)
    if last.astimezone(now.tzinfo).date() == now.date():
        return ""
    return f"last verified on {last.date().isoformat()}."


def _entry(one: DayEntry, now: datetime) -> Answer:
    return {
        "begins": _at(now, one.begins_min),
        "ends": _at(now, one.ends_min),
        "minutes": round(one.ends_min - one.begins_min, 1),
        "what": one.what,
        "apparatus": one.apparatus,
        "test": one.test or None,
        "sample": one.sample or None,
        "cup_c": one.cup_c,
        "why": one.why,
    }


def _at(now: datetime, minutes: float) -> str:
    return (now + timedelta(minutes=minutes)).replace(microsecond=0).isoformat()
