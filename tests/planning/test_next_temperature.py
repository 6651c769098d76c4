"""The next temperature under the method and free, and where to start."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import Refused
from closedcup.methods import (
    CupSet,
    FiniteAim,
    IgniterApplied,
    LimitAim,
    Observation,
    SpecimenLoaded,
    begin,
    instruction,
    method,
    outcome,
    replay,
)
from closedcup.planning.belief import Interval, Observed, prior_from_interval
from closedcup.planning.next_temperature import next_free, next_under_method
from closedcup.planning.observing import Observing
from closedcup.planning.pace import Pace, usual_pace, usual_weights
from closedcup.planning.planned_start import plan_start
from closedcup.planning.simulation import steps_of
from closedcup.quantities import parse_limit

LOW_C, HIGH_C = -30.0, 300.0
MODEL = Observing(0.2)
COSTS = {"pace": usual_pace(), "weights": usual_weights()}


def prior(best_c=60.0, half_c=6.0, doubt=0.02):
    return prior_from_interval(
        Interval(best_c, best_c - half_c, best_c + half_c),
        lowest_cup_c=LOW_C,
        highest_cup_c=HIGH_C,
        doubt=doubt,
    )


def free(belief, observations, **changes):
    wishes = {"lowest_cup_c": LOW_C, "highest_cup_c": HIGH_C, "step_c": 1.0, **COSTS, **changes}
    return next_free(belief, observations, wishes.pop("model", MODEL), **wishes)


def screened(belief, flash_cup_c, at_most=40, **changes):
    """Follow the free search over a liquid without scatter; return its end and what was tested."""
    made = []
    for _ in range(at_most):
        advice = free(belief, made, **changes)
        if advice.cup_c is None:
            return advice, made
        assert LOW_C <= advice.cup_c <= HIGH_C
        made.append(Observed(advice.cup_c, advice.cup_c >= flash_cup_c))
    raise AssertionError("the search does not end")


@settings(max_examples=25, deadline=None)
@given(st.floats(20, 100), st.floats(1, 15), st.floats(-20, 150))
def test_the_free_search_stays_in_range_ends_and_brackets_the_flash_point(best_c, half_c, true_c):
    advice, made = screened(prior(best_c, half_c), true_c)
    low_c, high_c = advice.between_cup_c
    assert low_c < true_c <= high_c
    assert high_c - low_c == pytest.approx(1.0)
    assert {Observed(low_c, False), Observed(high_c, True)} <= set(made)
    assert advice.mode == "screening"
    assert "never a result" in " ".join(advice.why)


def test_the_free_search_needs_few_specimens():
    flashes_c = 60 + 3 * np.array([-1.6, -1.0, -0.67, -0.43, -0.2, 0.01, 0.2, 0.43, 0.67, 1.0, 1.6])
    belief, exact = prior(half_c=3 * 1.96, doubt=0.0), Observing(0.1, lapse=0.0)
    taken = [len(screened(belief, one, model=exact)[1]) for one in flashes_c]
    assert np.mean(taken) < 4.0  # the best search takes 3.7


def test_an_estimate_50_degrees_off_is_said_and_nothing_is_lost():
    made = [Observed(one, False) for one in (60.0, 65.0, 70.0, 80.0, 90.0, 100.0)]
    advice = free(prior(half_c=3), made)
    assert any("was expected" in one for one in advice.warnings)
    assert advice.cup_c > 100


def test_no_specimen_left_is_said_before_anything_is_set():
    assert "No specimen is left" in free(prior(), [], specimens_left=0).warnings[0]
    assert "specimens are still needed" in free(prior(), [], specimens_left=1).warnings[0]
    assert free(prior(), [], specimens_left=20).warnings == ()


def begun(step_c=1.0, start_cup_c=60.0, method_id="d3828-b"):
    return begin(
        method(method_id),
        FiniteAim(step_c),
        pressure_kpa=101.3,
        probe_correction_c=0.0,
        start_cup_c=start_cup_c,
        apparatus_low_cup_c=LOW_C,
        apparatus_high_cup_c=HIGH_C,
    )


def one_more(state, flash_cup_c):
    due = instruction(state)
    eye = Observation.FLASH if due.cup_c >= flash_cup_c else Observation.NO_FLASH
    return replay(
        state,
        [
            CupSet(due.cup_c),
            SpecimenLoaded(due.specimen, due.specimen_ml, due.cup_c),
            IgniterApplied(due.cup_c, eye, None, due.dwell_s),
        ],
    )


@settings(max_examples=20, deadline=None)
@given(st.floats(40, 80), st.sampled_from([0.5, 1.0]), st.integers(45, 75).map(float))
def test_under_a_method_the_plan_is_the_procedure_and_counts_down_to_its_end(
    true_c, step_c, start_c
):
    state, belief = begun(step_c, start_c), prior(half_c=10)
    while outcome(state) is None:
        advice = next_under_method(state, belief, MODEL, **COSTS)
        assert advice.mode == "method"
        assert advice.cup_c == instruction(state).cup_c
        assert advice.specimens_left >= 1 - 1e-9
        assert advice.minutes_left > 0
        assert 0 <= advice.flash_chance <= 1
        state = one_more(state, true_c)
    ended = next_under_method(state, belief, MODEL, **COSTS)
    low_c, high_c = ended.between_cup_c
    assert low_c < true_c <= high_c
    assert (ended.cup_c, ended.specimens_left) == (None, 0.0)


def test_the_specimens_left_are_the_mean_of_what_the_procedure_then_takes():
    belief = prior(half_c=5, doubt=0.0)
    said = next_under_method(begun(), belief, MODEL, **COSTS).specimens_left
    random = np.random.default_rng(5)
    taken = []
    for true_c in random.choice(belief.flash_cup_c, 200, p=belief.chance):
        state, count = begun(), 0
        while outcome(state) is None:
            state, count = one_more(state, true_c), count + 1
        taken.append(count)
    assert said == pytest.approx(np.mean(taken), abs=0.25)


def test_a_test_at_a_limit_has_no_search_to_plan():
    state = begin(
        method("d3828-a"),
        LimitAim(parse_limit("<60 degC")),
        pressure_kpa=101.3,
        probe_correction_c=0.0,
    )
    with pytest.raises(Refused, match="step by step"):
        next_under_method(state, prior(), MODEL, **COSTS)


@settings(max_examples=30, deadline=None)
@given(st.floats(20, 120), st.floats(1, 15), st.floats(-20, 140), st.sampled_from([0.5, 1.0]))
def test_a_planned_start_is_whole_within_reach_and_never_above_its_ceiling(
    best_c, half_c, ceiling_c, step_c
):
    found = plan_start(
        prior(best_c, half_c),
        steps_of(step_c),
        lowest_cup_c=LOW_C,
        highest_cup_c=HIGH_C,
        ceiling_cup_c=ceiling_c,
        **COSTS,
    )
    assert LOW_C <= found.start_cup_c <= max(ceiling_c, LOW_C) + 1e-6
    assert found.start_cup_c == round(found.start_cup_c)
    assert found.specimens >= 2


def test_a_cup_that_cools_slowly_starts_lower():
    def start(cools):
        slow = Pace(10.0, cools, cleaning_min=0.5, loading_min=0.5)
        return plan_start(
            prior(half_c=15, doubt=0),
            steps_of(1.0),
            lowest_cup_c=LOW_C,
            highest_cup_c=HIGH_C,
            ceiling_cup_c=HIGH_C,
            pace=slow,
            weights=usual_weights(),
        )

    assert start(0.5).start_cup_c < start(10.0).start_cup_c
    assert start(0.5).overshoots < start(0.5).usual_overshoots
