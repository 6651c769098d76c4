"""The planned start keeps the value; earlier results on like samples sharpen the belief."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.planning import (
    Interval,
    Observing,
    Setting,
    interval_from_history,
    plan_start,
    prior_from_interval,
    simulate,
    usual_pace,
    usual_weights,
    with_history,
)
from closedcup.planning.simulation import steps_of

COSTS = {"pace": usual_pace(), "weights": usual_weights()}


def belief(best_c=60.0, half_c=8.0):
    return prior_from_interval(
        Interval(best_c, best_c - half_c, best_c + half_c), lowest_cup_c=-30, highest_cup_c=200
    )


@settings(max_examples=25, deadline=None)
@given(st.floats(20, 120), st.floats(2, 15), st.floats(-20, 20), st.floats(0.21, 1.5))
def test_scattering_specimens_leave_only_starts_of_the_same_value(best_c, half_c, below_c, scatter):
    usual_c = float(np.floor(best_c))
    found = plan_start(
        belief(best_c, half_c),
        steps_of(1.0),
        lowest_cup_c=-30,
        highest_cup_c=200,
        ceiling_cup_c=best_c + below_c,
        usual_cup_c=usual_c,
        scatter_c=scatter,
        **COSTS,
    )
    assert found.keeps_value
    assert (found.start_cup_c - usual_c) % 5 == pytest.approx(0, abs=1e-9)
    assert found.start_cup_c <= best_c + below_c


def test_the_planned_start_gives_the_value_as_written_where_specimens_scatter():
    setting = Setting(8.0, 1.0, Observing(1.0, 0.0), **COSTS, samples=2000)
    made = {one.name: one for one in simulate(setting)}
    written, planned = made["written, from estimate"], made["written, planned start"]
    assert planned.same_as_written_share >= 0.9995
    assert planned.overshoots < written.overshoots
    assert made["written, cheapest start"].same_as_written_share < 0.95


def test_history_sharpens_and_never_rules_out():
    prior = belief(60.0, 8.0)
    history = interval_from_history([57.0, 57.5, 58.0, 56.5, 57.0, 57.5])
    after = with_history(prior, history)
    assert after.sd_c < prior.sd_c
    assert 56.5 < after.mean_cup_c < 58.5
    assert after.chance.sum() == pytest.approx(1)
    assert after.chance_between(62, 66) > 0.01
    far = with_history(prior, interval_from_history([100.0] * 6))
    assert far.mean_cup_c < 65


def test_few_results_speak_less_than_many():
    few, many = interval_from_history([60.0, 61.0]), interval_from_history([60.0, 61.0] * 4)
    assert (few.low_cup_c, few.high_cup_c) == (55.0, 66.0)
    assert many.high_cup_c - many.low_cup_c < few.high_cup_c - few.low_cup_c
    with pytest.raises(InputError, match="no earlier result"):
        interval_from_history([])
