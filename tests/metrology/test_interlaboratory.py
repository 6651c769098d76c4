"""Outliers, rounds and robust estimates: identities, invariances, and an independent library."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.metrology import algorithm_a, evaluate_material, q_and_hampel, scores
from closedcup.metrology.outliers import (
    cochran,
    cochran_critical,
    dixon,
    generalised_deviates,
    grubbs,
    mandel_k_critical,
)
from closedcup.metrology.robust import q_deviation

results = st.lists(st.integers(-300, 300).map(lambda tenth: tenth / 10), min_size=4, max_size=12)


@pytest.mark.outside(source="scipy.stats.f_oneway", known="package")
@pytest.mark.parametrize("n", [2, 3, 5])
def test_variances_of_a_round_are_those_of_one_way_analysis(n):
    from scipy.stats import f_oneway  # noqa: TID251  (a check against it, not part of the program)

    groups = np.random.default_rng(n).normal(60, 1, (7, n)) + np.arange(7)[:, None]
    found = evaluate_material({str(site): group.tolist() for site, group in enumerate(groups)})
    assert found.repeatability_deviation is not None
    f = f_oneway(*groups).statistic
    assert 1 + n * (found.between_deviation / found.repeatability_deviation) ** 2 == pytest.approx(
        f
    )


@given(st.lists(st.lists(st.integers(580, 620), min_size=1, max_size=4), min_size=3, max_size=9))
def test_reproducibility_is_never_below_repeatability(tenths):
    values = {str(site): [one / 10 for one in group] for site, group in enumerate(tenths)}
    if len({one for group in values.values() for one in group}) == 1:
        return
    found = evaluate_material(values)
    assert found.reproducibility_deviation >= (found.repeatability_deviation or 0.0) - 1e-12


@given(results, st.floats(-50, 50), st.floats(0.1, 10))
def test_grubbs_does_not_mind_unit_and_zero(values, shift, scale):
    if len(set(values)) < 2:
        return
    one = grubbs(values)
    other = grubbs([scale * value + shift for value in values])
    assert other.statistic == pytest.approx(one.statistic, rel=1e-6)


def test_a_wild_result_moves_the_robust_mean_little():
    clean = np.random.default_rng(1).normal(61, 0.5, 20)
    wild = [*clean, 95.0]
    for estimate in (algorithm_a, q_and_hampel):
        assert abs(estimate(wild).mean - estimate(clean).mean) < 0.25


def test_the_q_method_counts_equal_differences_as_equal():
    """3.7 - 3.4 and 3.4 - 3.1 differ in binary; in exact fractions they do not."""
    tenths = [29, 31, 34, 34, 37, 37, 28, 25, 24, 24, 27, 22]
    as_integers = q_deviation(tenths)
    assert q_deviation([one / 10 for one in tenths]) == pytest.approx(as_integers / 10)
    assert Fraction(37, 10) - Fraction(34, 10) == Fraction(34, 10) - Fraction(31, 10)


@pytest.mark.outside(source="simulated normal samples", known="package")
def test_cochran_rejects_as_often_as_it_says():
    samples = np.random.default_rng(2).standard_normal((20_000, 8, 3))
    variances = samples.var(axis=2, ddof=1)
    share = (variances.max(axis=1) / variances.sum(axis=1) > cochran_critical(8, 3, 0.05)).mean()
    assert share == pytest.approx(0.05, abs=0.006)


def test_two_sites_share_k_as_cochran_shares_variance():
    """k²/p is a site's share of the variances, so both tests say the same of one site."""
    found = evaluate_material({"A": [60, 61], "B": [60, 64], "C": [59.5, 60]})
    assert found.k is not None
    assert found.cochran is not None
    assert found.k.max() ** 2 / 3 == pytest.approx(found.cochran.statistic)
    assert mandel_k_critical(3, 2, 0.005) < np.sqrt(3)


def test_a_score_of_nothing_is_nothing():
    found = scores(61, assigned=61, assigned_uncertainty=0.1, deviation=0.9, result_uncertainty=0.3)
    assert (found.z, found.z_prime, found.zeta, found.en) == (0, 0, 0, 0)
    assert found.standing == "satisfactory"


def test_bad_rounds_are_refused_in_words():
    with pytest.raises(Refused, match="3 laboratories"):
        evaluate_material({"A": [60.0], "B": [61.0]})
    with pytest.raises(Refused, match="alike"):
        evaluate_material({"A": [60.0], "B": [60.0], "C": [60.0]})
    with pytest.raises(InputError, match="of B"):
        evaluate_material({"A": [60.0], "B": [np.inf], "C": [60.0]})
    with pytest.raises(Refused, match="at least 3"):
        grubbs([60.0, 61.0])
    with pytest.raises(Refused, match="3 to 12"):
        dixon(np.arange(20.0))
    with pytest.raises(Refused, match="at least 15"):
        generalised_deviates(np.arange(10.0), most=2)
    with pytest.raises(Refused, match="all zero"):
        cochran([0.0, 0.0, 0.0], 2)
    with pytest.raises(Refused, match="half"):
        algorithm_a([60.0, 60.0, 60.0, 61.0])
    with pytest.raises(InputError, match="positive"):
        scores(61, assigned=61, assigned_uncertainty=0.1, deviation=0.0)
