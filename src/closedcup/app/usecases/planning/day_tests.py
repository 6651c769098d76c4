"""Which tests can be made today, and what each asks of the day."""

import math
from collections.abc import Collection, Mapping

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import bench
from closedcup.app.usecases.desk.chilling import Coldness, coldness
from closedcup.app.usecases.desk.volumes import volume_left_ml
from closedcup.app.usecases.nonconforming.doubts import active_hold
from closedcup.app.usecases.planning.advising import advise
from closedcup.errors import ClosedcupError, Refused
from closedcup.laboratory import ApparatusState, RequestedTest, Sample, Series
from closedcup.laboratory.sample_keeping import due_words
from closedcup.methods import Method, cup_reading_c, method
from closedcup.mixtures import find as find_liquid
from closedcup.planning.day import DayTest
from closedcup.planning.pace import pace_numbers, usual_pace
from closedcup.records.facts import Plan
from closedcup.records.ledger import Ledger
from closedcup.records.standing import waits
from closedcup.sources import Cited

_RAMP_UNKNOWN_C = 30.0  # a ramp on a liquid of which nothing is expected (judgement)
_SPECIMENS_UNKNOWN = 8  # a cold start; the plan says that the number is not known (judgement)


# What leaves a residue in cup, lid and shutter (common practice).
_DIRTY_KINDS = frozenset({"viscous paint", "residual fuel", "film-forming", "used oil", "waste"})


def held_back(ledger: Ledger, test: RequestedTest) -> tuple[str, str]:
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
    if waits(ledger, ledger.samples[test.sample]):
        return "The customer is to be asked first.", f"closedcup go-ahead {test.sample}"
    state = ledger.apparatus_state(name, test.method)
    if state is ApparatusState.REGISTERED:
        return f"{name} is not in service.", f"closedcup put-into-service {name}"
    if (hold := active_hold(ledger, "apparatus", name)) is not None:
        return f"{name} is held ({hold.id}): {hold.reason}", f"closedcup lift {hold.id}"
    if used_up := _used_up(ledger, test):
        return used_up, "Ask for more sample; what was found so far stays on record."
    hot = _too_near_autoignition(ledger.samples[test.sample], plan)
    return (hot, "Ask the reviewer.") if hot and review is None else ("", "")


def _used_up(ledger: Ledger, test: RequestedTest) -> str:
    sample = ledger.samples[test.sample]
    least_ml = min(rule.volume.value for rule in method(test.method).specimens)
    left_ml = volume_left_ml(ledger, sample)
    if left_ml >= least_ml:
        return ""
    return f"{max(left_ml, 0):g} mL of {sample.id} is left; a specimen takes {least_ml:g} mL."


def _too_near_autoignition(sample: Sample, plan: Plan) -> str:
    """Say when the cup may come near the autoignition temperature of a declared component."""
    margin_c = pace_numbers()["autoignition_margin"].value
    hottest_c = plan.start_cup_c
    if plan.estimate is not None:
        hottest_c = max(hottest_c, cup_at(plan, plan.estimate["high_c"]))
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


def day_test(
    opened: OpenLaboratory, test: RequestedTest, room_c: float, chilled: Collection[str]
) -> DayTest:
    """Return what a test asks of the day: its cup, its time, how cold the sample must be."""
    ledger = opened.state
    plan, series = ledger.plans[test.id], ledger.series_under_way(test.id)
    sample, chosen = ledger.samples[test.sample], method(test.method)
    specimens, minutes = _still_to_do(opened, sample, chosen, plan, series)
    open_at_c = _open_at_most_c(chosen.numbers, plan)
    needs_cold = open_at_c < room_c
    cold = Coldness(0.0, is_chilling=True, words="")
    if needs_cold and series is None and test.sample not in chilled:
        cold = coldness(opened, sample, open_at_c)
    apparatus = series.apparatus if series else str(plan.start["apparatus"])
    return DayTest(
        test=test.id,
        sample=test.sample,
        apparatus=apparatus,
        start_cup_c=plan.start_cup_c,
        specimens=specimens,
        minutes=minutes,
        open_at_most_c=open_at_c if needs_cold else None,
        ready_min=cold.ready_min,
        is_chilling=cold.is_chilling,
        is_dirty=_is_dirty(sample),
        is_begun=bool(series),
        hurry=_hurry(opened, sample),
        others=_others(ledger, test, plan, apparatus),
    )


def _is_dirty(sample: Sample) -> bool:
    """Say whether a sample is tested after the others: it soils the cup, or may."""
    unknown = sample.composition.trust == "unknown"
    return sample.is_waste or unknown or sample.kind in _DIRTY_KINDS


def _hurry(opened: OpenLaboratory, sample: Sample) -> str:
    """Say why a sample comes before others: urgent, overdue or due today."""
    today = opened.clock().date()
    if sample.priority == "urgent":
        return "urgent"
    return due_words(sample.due, today) if "" < sample.due <= today.isoformat() else ""


def _still_to_do(
    opened: OpenLaboratory,
    sample: Sample,
    chosen: Method,
    plan: Plan,
    series: Series | None,
) -> tuple[int, float]:
    """Return specimens and minutes at the cup: of a begun series what it still needs."""
    if series is not None:
        try:
            advice = advise(opened, bench(opened, series.id))
        except Refused:
            pass  # a ramp or a test at a limit: counted below
        else:
            return max(math.ceil(advice.specimens_left - 1e-9), 1), max(advice.minutes_left, 1.0)
    rule = chosen.specimen_rule(sample.kind or chosen.default_product, plan.start_cup_c)
    pace = usual_pace(dwell_min=(rule.dwell.value if rule.dwell is not None else 60) / 60)
    planned = plan.start.get("planned")
    expected = plan.start["specimens_expected"]
    specimens = int(expected) if expected is not None else _SPECIMENS_UNKNOWN
    done = sum(type(one.move).__name__ == "IgniterApplied" for one in series.moves) if series else 0
    left = max(specimens - done, 1)
    if planned is None:
        each_min = pace.loading_min + pace.dwell_min + _ramp_min(chosen, plan)
        return left, left * each_min + (left - 1) * pace.cleaning_min
    to_start_c = plan.start_cup_c - float(plan.start["cup_now_c"])
    rate = plan.start["heats_c_per_min" if to_start_c >= 0 else "cools_c_per_min"]
    return left, max(float(planned["minutes"]) - abs(to_start_c) / float(rate), 1.0)


def _ramp_min(chosen: Method, plan: Plan) -> float:
    """Return the minutes of one ramp from its start to what is expected; 0 for no ramp."""
    expected_c = plan.start["expected_corrected_c"]
    top_c = plan.start_cup_c + _RAMP_UNKNOWN_C if expected_c is None else cup_at(plan, expected_c)
    rate = chosen.numbers.get("ramp_rate")
    covering = [rule for rule in chosen.intervals if rule.covers(top_c, expected_c)]
    if covering and covering[0].rate is not None:
        rate = covering[0].rate
    return 0.0 if rate is None else max(top_c - plan.start_cup_c, 0.0) / rate.value


def _others(ledger: Ledger, test: RequestedTest, plan: Plan, planned: str) -> tuple[str, ...]:
    """Return the other apparatus in control that reach what the test may need."""
    highest_c = plan.start_cup_c
    if plan.estimate is not None:
        highest_c = max(highest_c, cup_at(plan, plan.estimate["high_c"]))
    return tuple(
        each.id
        for each in ledger.apparatus.values()
        if each.id != planned
        and test.method in each.methods
        and ledger.apparatus_state(each.id, test.method) is ApparatusState.IN_CONTROL
        and active_hold(ledger, "apparatus", each.id) is None
        and float(each.lowest_cup_c) <= plan.start_cup_c
        and highest_c <= float(each.highest_cup_c)
    )


def _open_at_most_c(numbers: Mapping[str, Cited], plan: Plan) -> float:
    """Return how cold the sample must be to be opened: so far below what is expected.

    From the lowest that the estimate or the plan expects, at the plan's pressure, and never above
    an equilibrium test's start, which lies low for a reason (a suspected contaminant).
    """
    below = numbers.get("chill_below_expected")
    below_c = 0.0 if below is None else below.value
    expected = [plan.start["expected_corrected_c"]]
    expected += [] if plan.estimate is None else [plan.estimate["low_c"]]
    lowest_c = min((cup_at(plan, each) for each in expected if each is not None), default=None)
    if lowest_c is None or "ramp_rate" not in numbers:
        known_c = plan.start_cup_c if lowest_c is None else lowest_c - below_c
        return float(math.floor(min(known_c, plan.start_cup_c)))
    return float(math.floor(lowest_c - below_c))


def cup_at(plan: Plan, corrected: float) -> float:
    """Return what happens at a corrected temperature at the plan's pressure."""
    pressure_kpa = float(plan.start["pressure_kpa"])
    return cup_reading_c(float(corrected), pressure_kpa=pressure_kpa, probe_correction_c=None)
