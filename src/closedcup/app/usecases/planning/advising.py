"""Say what is believed of a flash point while it is searched, and what is still to come."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.cup_rates import cup_now, pace_of, rates_of
from closedcup.app.usecases.bench.benching import BenchView, bench
from closedcup.app.usecases.planning.believing import (
    belief_as_json,
    believed,
    history_speaks,
    scatter_of,
)
from closedcup.methods import determinations
from closedcup.planning import (
    Advice,
    Belief,
    Observed,
    Observing,
    next_free,
    next_under_method,
    usual_weights,
)
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

# A free search never leaps: the first specimen at the plan's start at most, each later one this far
# above the highest no flash at most (common practice: an unknown is approached from below).
_LARGEST_RISE_C = 10.0


def next_temperature(opened: OpenLaboratory, series_id: str, *, screening: bool = False) -> Answer:
    """Return the next temperature with the belief behind it.

    Under the method the temperature is the procedure's own and only the belief is added. Screening
    chooses freely for least cost; its answer is never a method result.
    """
    view = bench(opened, series_id)
    return advice_as_json(opened, view, advise(opened, view, screening=screening))


def advise(opened: OpenLaboratory, view: BenchView, *, screening: bool = False) -> Advice:
    """Return the advice for a series as it stands; Refused where no search is made step by step."""
    prior, _ = _prior(opened.state, view)
    expected_c = view.state.corrected(prior.mean_cup_c)
    kind = view.sample.kind or None
    model = Observing(scatter_of(view.method, expected_c, kind, view.test.step_c))
    dwell_s = view.instruction.dwell_s or 60.0
    at_cup_c, _ = cup_now(opened, view.apparatus.id)
    pace = pace_of(opened.state, view.apparatus.id, dwell_s=dwell_s, at_cup_c=at_cup_c)
    weights = usual_weights()
    left = int(view.volume_left_ml // (view.instruction.specimen_ml or 2.0))
    if not screening:
        return next_under_method(
            view.state, prior, model, pace=pace, weights=weights, specimens_left=left
        )
    return next_free(
        prior,
        seen(view),
        model,
        lowest_cup_c=view.state.reach.lowest_cup_c,
        highest_cup_c=_safe_ceiling_cup_c(view),
        step_c=view.test.step_c,
        pace=pace,
        weights=weights,
        specimens_left=left,
    )


def seen(view: BenchView) -> list[Observed]:
    """Return the valid determinations of a series."""
    return [
        Observed(one.cup_c, one.flashed)
        for one in determinations(view.state)
        if one.status == "valid"
    ]


def advice_as_json(opened: OpenLaboratory, view: BenchView, advice: Advice) -> Answer:
    """Return an advice as `closedcup next --json` prints it."""
    _, basis = _prior(opened.state, view)
    answer = {
        "series": view.series.id,
        "belief_from": basis,
        **_as_json(advice, view, basis),
        **rates_of(opened.state, view.apparatus.id),
    }
    is_capped = _safe_ceiling_cup_c(view) < view.state.reach.highest_cup_c
    if advice.mode == "screening" and is_capped:
        # Counted below the ceiling only; what lies above it is still to be searched.
        answer |= {"specimens_to_come": None, "minutes_to_come": None}
    return answer


def _prior(ledger: Ledger, view: BenchView) -> tuple[Belief, str]:
    """Return the belief before the series: from the plan as it was issued."""
    plan = ledger.plans[view.test.id]
    earlier = plan.start.get("earlier_results")
    if earlier is None:  # a plan made before these were part of it
        earlier = [{"corrected_c": float(each.corrected_c)} for each in view.sample.history]
    speaks = history_speaks(view.sample)
    past = [float(each["corrected_c"]) for each in earlier] if speaks else []
    return believed(plan.estimate, past, view.state.cup, view.state.reach)


def _safe_ceiling_cup_c(view: BenchView) -> float:
    quiet = [
        one.cup_c for one in determinations(view.state) if one.status == "valid" and not one.flashed
    ]
    ceiling_c = max(quiet) + _LARGEST_RISE_C if quiet else float(view.series.start_cup_c)
    return min(ceiling_c, view.state.reach.highest_cup_c)


def _as_json(advice: Advice, view: BenchView, basis: str) -> Answer:
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
        "belief": belief_as_json(advice.belief, view.state.corrected, basis),
        "warnings": list(advice.warnings),
    }
