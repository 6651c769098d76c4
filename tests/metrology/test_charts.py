"""Charts keep their promises on series that nobody published: rounded ones, shifted ones, edges."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.metrology import (
    chart_cusum,
    chart_ewma,
    chart_individuals,
    limits_around,
    normality_of,
    resolution_of,
    series_of,
    site_repeatability,
)
from closedcup.metrology.censored import brackets_of, estimate_from_brackets
from closedcup.metrology.run_rules import RULES, rule_hits


def _rounded(step: float, spread: float, n: int, seed: int) -> np.ndarray:
    values = np.random.default_rng(seed).normal(60.13, spread, n)
    return np.round(values / step) * step


@pytest.mark.parametrize("spread", [0.1, 0.25, 0.5, 0.9])
def test_rounding_alone_signals_nothing(spread):
    """Clean series rounded to 1 °C: not more signals than chance makes (0.27 % a point)."""
    charts = [
        chart_individuals(
            series_of(_rounded(1.0, spread, 60, seed), resolution=1.0, base=60), rules=["WE1"]
        )
        for seed in range(25)
    ]
    signals = sum(len(chart.hits.get("WE1", [])) for chart in charts)
    assert all(chart.coarse for chart in charts)
    assert signals <= 0.0027 * 25 * 60 + 4  # two standard deviations of the count


def test_a_shift_shows_through_the_rounding():
    values = np.concatenate([_rounded(0.5, 0.4, 20, 1), [65.0]])
    chart = chart_individuals(series_of(values, resolution=0.5))
    assert chart.coarse
    assert chart.hits["WE1"] == [21]


def test_no_word_on_normality_where_reading_is_coarse():
    assert normality_of(series_of(_rounded(1.0, 0.5, 40, 2), resolution=1.0)) is None
    assert normality_of(series_of(_rounded(0.01, 0.5, 40, 2), resolution=0.01)) is not None


@pytest.mark.parametrize("spread", [0.4, 0.8, 1.6])
def test_brackets_give_the_deviation_that_rounding_hides(spread):
    values = _rounded(1.0, spread, 4000, 3)
    found = estimate_from_brackets(*brackets_of(values, 1.0))
    assert found.deviation == pytest.approx(spread, rel=0.06)
    assert found.mean == pytest.approx(60.13, abs=0.05)
    assert found.deviation < found.deviation_upper < 1.3 * spread


def test_results_all_alike_bound_the_deviation_and_fix_none():
    found = estimate_from_brackets(*brackets_of(np.full(20, 60.5), 0.5))
    assert found.deviation is None
    # The chance that all 20 fall in one cell is exp(-1.92) at the upper limit (by hand: 0.1482).
    assert found.deviation_upper == pytest.approx(0.148, abs=0.002)


@given(
    st.lists(st.integers(-40, 40), min_size=5, max_size=60),
    st.floats(0, 0.6),
)
def test_a_wider_reading_never_adds_a_signal_beyond(steps, half):
    z = np.array(steps) / 10
    beyond = ["WE1", "WE2", "WE3", "WE4", "N2", "N5", "N6", "N8"]
    sharp, blurred = rule_hits(z, beyond), rule_hits(z, beyond, half_width=half)
    for rule, positions in blurred.items():
        assert set(positions) <= set(sharp[rule])


@given(st.lists(st.floats(-4, 4), min_size=5, max_size=60))
def test_rules_see_a_mirror_image_alike(values):
    z = np.array(values)
    assert rule_hits(z, list(RULES)) == rule_hits(-z, list(RULES))


@pytest.mark.parametrize(
    ("rule", "z", "at"),
    [
        ("N2", [0.1] * 9, [9]),
        ("N3", [0, 0.1, 0.2, 0.3, 0.4, 0.5], [6]),
        ("N3", [0, 0.1, 0.2, 0.3, 0.3, 0.5], []),
        ("N4", [0.1, -0.1] * 7, [14]),
        ("N4", [0.1, -0.1] * 6 + [0.1], []),
        ("N7", [0.5, -0.5, 0.2] * 5, [15]),
        ("N7", [0.5] * 14 + [1.0], []),
    ],
)
def test_long_patterns_are_complete_at_their_last_point(rule, z, at):
    assert rule_hits(z, [rule]).get(rule, []) == at


@given(st.lists(st.integers(5900, 6100), min_size=5, max_size=40))
def test_sums_without_a_loop_are_sums_with_one(hundredths):
    values = np.array(hundredths) / 100
    chart = chart_cusum(series_of(values), target=60.0, allowance=0.1, interval=1.0)
    high = low = 0.0
    for place, value in enumerate(values):
        high = max(0.0, high + value - 60.0 - 0.1)
        low = max(0.0, low + 60.0 - value - 0.1)
        assert chart.sums is not None
        assert chart.sums[0][place] == pytest.approx(high, abs=1e-9)
        assert chart.sums[1][place] == pytest.approx(low, abs=1e-9)


def test_a_moving_average_of_weight_one_is_the_results():
    values = _rounded(0.1, 1.0, 20, 4)
    assert chart_ewma(series_of(values), weight=1.0).values == pytest.approx(values)


def test_a_result_with_a_cause_stays_out_of_the_limits():
    values = np.concatenate([_rounded(0.1, 1.0, 20, 5), [75.0]])
    without = chart_individuals(series_of(values[:20]))
    causes = [False] * 20 + [True]
    marked = chart_individuals(series_of(values, explained=causes, base=21))
    assert marked.limits.centre == pytest.approx(without.limits.centre)


@pytest.mark.parametrize(
    ("texts", "step"),
    [
        (["60", "61", "63"], "1"),
        (["60.5", "61", "62"], "0.5"),
        (["60.2", "60.4"], "0.2"),
        (["60.15", "60.4"], "0.05"),
        (["60", "60"], "0"),
        (["100", "300"], "100"),
    ],
)
def test_the_resolution_is_the_step_of_which_all_are_multiples(texts, step):
    assert resolution_of([Decimal(text) for text in texts]) == Decimal(step)


@pytest.mark.outside(source="scipy.stats.chi2 quantiles", known="package")
def test_site_repeatability_is_tested_by_chi_square():
    from scipy.stats import chi2  # noqa: TID251  (a check against it, not part of the program)

    found = site_repeatability([(0.0, 1.0), (2.0, 2.5), (1.0,)])
    assert found is not None
    assert found.degrees_of_freedom == 2
    assert found.critical_ratio == pytest.approx(np.sqrt(chi2.ppf(0.95, 2) / 2))
    assert found.ratio == pytest.approx(2.772 * np.sqrt((0.5 + 0.125) / 2))


def test_bad_series_are_refused_in_words():
    with pytest.raises(Refused, match="at least 5"):
        series_of([60.0, 61.0])
    with pytest.raises(InputError, match="Value 2"):
        series_of([60.0, np.nan, 61.0, 60.0, 60.0])
    with pytest.raises(Refused, match="spread"):
        chart_individuals(series_of([60.0] * 8))
    with pytest.raises(InputError, match="standard deviation"):
        limits_around(0.0, 0.0, "nowhere")
    with pytest.raises(InputError, match="WE1"):
        rule_hits([0.0], ["WE9"])
