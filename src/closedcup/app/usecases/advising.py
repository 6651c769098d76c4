"""Say what is believed of a flash point while it is searched, and what is still to come."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.benching import BenchView, bench
from closedcup.errors import Refused
from closedcup.methods import determinations, precision_at
from closedcup.planning import (
    Advice,
    Belief,
    Interval,
    Observed,
    Observing,
    next_free,
    next_under_method,
    prior_from_interval,
    scatter_from_repeatability,
    usual_pace,
    usual_weights,
)
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

# How far an earlier result of a source says where the next one lies (a judgement: products of one
# source usually stay within it), and the scatter taken where a method states no repeatability.
_HISTORY_C = 5.0
_SCATTER_C = 0.3

# A free search never leaps: the first specimen at the plan's start at most, each later one this far
# above the highest no flash at most (common practice: an unknown is approached from below).
_LARGEST_RISE_C = 10.0


def next_temperature(opened: OpenLaboratory, series_id: str, *, screening: bool = False) -> Answer:
    """Return the next temperature with the belief behind it.

    Under the method the temperature is the procedure's own and only the belief is added. Screening
    chooses freely for least cost; its answer is never a method result.
    """
    view = bench(opened, series_id)
    prior, basis = _prior(opened.state, view)
    model = Observing(_scatter_c(view, prior))
    dwell_s = view.instruction.dwell_s or 60.0
    pace, weights = usual_pace(dwell_min=dwell_s / 60), usual_weights()
    left = int(view.volume_left_ml // (view.instruction.specimen_ml or 2.0))
    if screening:
        advice = next_free(
            prior,
            [
                Observed(one.cup_c, one.flashed)
                for one in determinations(view.state)
                if one.status == "valid"
            ],
            model,
            lowest_cup_c=view.state.reach.lowest_cup_c,
            highest_cup_c=_safe_ceiling_cup_c(view),
            step_c=view.test.step_c,
            pace=pace,
            weights=weights,
            specimens_left=left,
        )
    else:
        advice = next_under_method(
            view.state, prior, model, pace=pace, weights=weights, specimens_left=left
        )
    answer = {"series": series_id, "belief_from": basis, **_as_json(advice, view)}
    if screening and _safe_ceiling_cup_c(view) < view.state.reach.highest_cup_c:
        # Counted below the ceiling only; what lies above it is still to be searched.
        answer |= {"specimens_to_come": None, "minutes_to_come": None}
    return answer


def _prior(ledger: Ledger, view: BenchView) -> tuple[Belief, str]:
    within = view.state.reach
    reach = {"lowest_cup_c": within.lowest_cup_c, "highest_cup_c": within.highest_cup_c}
    estimate = ledger.plans[view.test.id].estimate
    if estimate is not None:
        ends = (estimate["flash_point_c"], estimate["low_c"], estimate["high_c"])
        basis = "the estimate and its interval"
    elif view.sample.history and _is_what_it_was(view):
        past = [float(each.corrected_c) for each in view.sample.history]
        ends = (sum(past) / len(past), min(past) - _HISTORY_C, max(past) + _HISTORY_C)
        basis = f"earlier results, ± {_HISTORY_C:g} °C around them"
    else:
        return _nothing_known(**reach), "nothing: every temperature within reach alike"
    best, low, high = (view.state.cup(float(end)) for end in ends)
    return prior_from_interval(Interval(best, low, high), **reach), basis


def _is_what_it_was(view: BenchView) -> bool:
    """Say whether earlier results still speak: not for what may be contaminated or is unknown."""
    sample = view.sample
    return not (sample.suspected or sample.is_waste or sample.composition.trust == "unknown")


def _safe_ceiling_cup_c(view: BenchView) -> float:
    quiet = [
        one.cup_c for one in determinations(view.state) if one.status == "valid" and not one.flashed
    ]
    ceiling_c = max(quiet) + _LARGEST_RISE_C if quiet else float(view.series.start_cup_c)
    return min(ceiling_c, view.state.reach.highest_cup_c)


def _nothing_known(*, lowest_cup_c: float, highest_cup_c: float) -> Belief:
    middle = (lowest_cup_c + highest_cup_c) / 2
    return prior_from_interval(
        Interval(middle, lowest_cup_c, highest_cup_c),
        lowest_cup_c=lowest_cup_c,
        highest_cup_c=highest_cup_c,
        doubt=1.0,
    )


def _scatter_c(view: BenchView, prior: Belief) -> float:
    try:
        found = precision_at(
            view.method, view.state.corrected(prior.mean_cup_c), view.sample.kind or None
        )
    except Refused:
        return _SCATTER_C
    return scatter_from_repeatability(found.repeatability_c, view.test.step_c)


def _as_json(advice: Advice, view: BenchView) -> Answer:
    low_cup_c, high_cup_c = advice.belief.interval_cup_c()
    corrected = view.state.corrected
    return {
        "mode": advice.mode,
        "is_method_result": False if advice.mode == "screening" else None,
        "cup_c": advice.cup_c,
        "why": list(advice.why),
        "flash_chance": advice.flash_chance,
        "overshoot_chance": advice.overshoot_chance,
        "specimens_to_come": advice.specimens_left,
        "minutes_to_come": advice.minutes_left,
        "between_cup_c": advice.between_cup_c,
        "belief": {
            "mean_corrected_c": corrected(advice.belief.mean_cup_c),
            "sd_c": advice.belief.sd_c,
            "low_corrected_c": corrected(low_cup_c),
            "high_corrected_c": corrected(high_cup_c),
            "coverage": 0.95,
        },
        "warnings": list(advice.warnings),
    }
