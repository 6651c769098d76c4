"""Budgets, Monte Carlo and lines: laws that hold for any numbers, and an independent library."""

from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.metrology import (
    Input,
    between_groups,
    fit_line,
    from_history,
    propagate,
    reconciled,
    rounded_pair,
    simulate,
    within,
)

sizes = st.floats(0.01, 10)


def _sum(values):
    return np.sum(values, axis=0)


@given(st.lists(sizes, min_size=1, max_size=8))
def test_independent_uncertainties_add_in_squares(us):
    inputs = [Input(f"x{place}", 60.0, u) for place, u in enumerate(us)]
    found = propagate(_sum, inputs)
    assert found.uncertainty == pytest.approx(sqrt(sum(u**2 for u in us)), rel=1e-6)
    assert found.shares.sum() == pytest.approx(1)
    assert found.degrees_of_freedom == inf


@given(sizes, sizes, st.floats(-1, 1))
def test_a_correlation_bends_the_sum(a, b, r):
    inputs = [Input("a", 0.0, a), Input("b", 0.0, b)]
    found = propagate(_sum, inputs, correlation=[[1, r], [r, 1]])
    assert found.uncertainty**2 == pytest.approx(a**2 + b**2 + 2 * r * a * b, rel=1e-5, abs=1e-9)


def test_degrees_of_freedom_lie_between_the_least_and_the_sum():
    inputs = [Input("a", 0, 1, degrees_of_freedom=4), Input("b", 0, 1, degrees_of_freedom=9)]
    assert 4 < propagate(_sum, inputs).degrees_of_freedom < 13


@pytest.mark.parametrize("shape", ["rectangular", "triangular", "arcsine"])
def test_draws_stay_within_the_half_width_and_have_its_uncertainty(shape):
    one = within("x", 60.0, 0.5, shape)
    drawn = one.draw(np.random.default_rng(1), 200_000)
    assert np.abs(drawn - 60).max() <= 0.5
    assert drawn.std() == pytest.approx(one.uncertainty, rel=0.01)


@pytest.mark.outside(source="scipy.stats.t quantiles", known="package")
def test_few_repeats_widen_the_simulated_interval():
    from scipy.stats import t  # noqa: TID251  (a check against it, not part of the program)

    drawn = simulate(_sum, [Input("x", 0.0, 1.0, degrees_of_freedom=5)])
    assert drawn.symmetric[1] == pytest.approx(t.ppf(0.975, 5), rel=0.01)


def test_the_same_seed_gives_the_same_trials():
    inputs = [Input("x", 0.0, 1.0), within("y", 0.0, 1.0)]
    assert simulate(_sum, inputs, trials=20_000) == simulate(_sum, inputs, trials=20_000)


@pytest.mark.outside(source="scipy.stats.linregress", known="package")
def test_a_line_is_the_least_squares_line():
    from scipy.stats import linregress  # noqa: TID251  (as above)

    generator = np.random.default_rng(3)
    x = np.linspace(20, 110, 9)
    y = 0.1 - 0.002 * x + generator.normal(0, 0.02, 9)
    line, other = fit_line(x, y), linregress(x, y)
    assert line.slope == pytest.approx(other.slope)
    assert line.intercept == pytest.approx(other.intercept)
    assert line.slope_uncertainty == pytest.approx(other.stderr)
    assert line.intercept_uncertainty == pytest.approx(other.intercept_stderr)


@given(st.floats(-50, 200))
def test_a_prediction_does_not_mind_where_the_intercept_is(zero):
    x, y = [20.0, 60.0, 100.0, 140.0], [0.1, 0.0, -0.2, -0.1]
    one, other = fit_line(x, y).predict(75.0), fit_line(x, y, at=zero).predict(75.0)
    assert one == pytest.approx(other, abs=1e-9)


@given(st.floats(1e-6, 1e6), st.floats(-1e6, 1e6))
def test_rounding_keeps_two_digits_and_one_place(u, value):
    value_text, u_text = rounded_pair(value, u)
    assert float(u_text) == pytest.approx(u, rel=0.051)
    assert len(value_text.partition(".")[2]) == len(u_text.partition(".")[2])
    assert len(u_text.replace(".", "").lstrip("0").rstrip("0")) <= 2


def test_history_counts_bias_scatter_and_certificate():
    found = from_history([0.4, 0.6, 0.5, 0.7, 0.3], reference_uncertainty=0.3)
    assert found.uncertainty == pytest.approx(sqrt(found.within_site**2 + 0.5**2 + 0.3**2))


@pytest.mark.parametrize(
    ("below", "above", "words"),
    [(0.5, 1.5, "missing"), (1.5, 0.5, "safe side"), (1.0, 1.1, "explains what is seen")],
)
def test_below_and_above_are_reconciled_in_words(below, above, words):
    assert words in reconciled(below, 20, above, 20)


def test_bad_budgets_are_refused_in_words():
    with pytest.raises(InputError, match="no estimate"):
        Input("x", 60.0, -1.0)
    with pytest.raises(InputError, match="degrees of freedom"):
        Input("x", 60.0, 1.0, degrees_of_freedom=0)
    with pytest.raises(InputError, match="half-width"):
        within("x", 60.0, 1.0, "normal")
    with pytest.raises(InputError, match="needs inputs"):
        propagate(_sum, [])
    with pytest.raises(InputError, match="contradict"):
        propagate(_sum, [Input("a", 0, 1), Input("b", 0, 1)], correlation=[[1, 2], [2, 1]])
    with pytest.raises(Refused, match="do not fix"):
        simulate(_sum, [Input("x", 0, 1)], trials=100)
    with pytest.raises(Refused, match="at least 3"):
        fit_line([20, 30], [0.1, 0.2])
    with pytest.raises(Refused, match="spread"):
        fit_line([20, 20, 20], [0.1, 0.2, 0.3])


@pytest.mark.parametrize("r", [-0.8, 0.5, 1.0])
def test_correlated_inputs_are_drawn_together(r):
    inputs = [Input("a", 1.0, 0.3), Input("b", 2.0, 0.4), within("c", 0.0, 0.1)]
    matrix = [[1, r, 0], [r, 1, 0], [0, 0, 1]]
    below = propagate(_sum, inputs, correlation=matrix)
    drawn = simulate(_sum, inputs, correlation=matrix, trials=200_000)
    assert drawn.uncertainty == pytest.approx(below.uncertainty, rel=0.01)
    assert drawn.mean == pytest.approx(3.0, abs=0.01)


def test_correlated_inputs_count_as_one_for_the_degrees_of_freedom():
    bound = [Input("a", 0, 1, degrees_of_freedom=4), Input("b", 0, 1, degrees_of_freedom=4)]
    matrix = [[1, 0.9], [0.9, 1]]
    assert propagate(_sum, bound, correlation=matrix).degrees_of_freedom == pytest.approx(4)
    drawn = simulate(_sum, bound, correlation=matrix, trials=200_000)
    assert drawn.uncertainty == pytest.approx(sqrt(3.8 * 4 / 2), rel=0.05)  # t with 4: ν/(ν - 2)
    other = [bound[0], Input("b", 0, 1, degrees_of_freedom=9)]
    with pytest.raises(Refused, match="different degrees of freedom"):
        propagate(_sum, other, correlation=matrix)
    with pytest.raises(Refused, match="too little to draw from"):
        simulate(_sum, [Input("a", 0, 1), within("b", 0, 1)], correlation=matrix)


@given(st.lists(st.integers(-9, 9), min_size=3, max_size=6, unique=True), st.floats(-50, 50))
def test_between_groups_shifts_with_the_groups_and_not_with_all(values, shift):
    near = between_groups([values, values])
    assert near.between == 0
    far = between_groups([values, [value + 10 for value in values]])
    assert far.between == pytest.approx(sqrt(50 - far.within**2 / len(values)), rel=1e-6)
    moved = between_groups([[v + shift for v in values], [v + shift + 10 for v in values]])
    assert moved.between == pytest.approx(far.between, rel=1e-6)
    with pytest.raises(Refused, match="two groups of two"):
        between_groups([values, [1.0]])
