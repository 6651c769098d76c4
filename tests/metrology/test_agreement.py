"""Repeats against r and R."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.metrology import agree, agree_means, mean_difference_limit_c, range_factor


@pytest.mark.outside(source="scipy.stats.studentized_range", known="package")
@pytest.mark.parametrize("n", range(2, 11))
def test_critical_ranges_are_those_of_the_studentized_range(n):
    from scipy.stats import studentized_range  # noqa: TID251 - an independent check, not shipped

    quantile = studentized_range.ppf(0.95, n, np.inf) / studentized_range.ppf(0.95, 2, np.inf)
    assert range_factor(n) == pytest.approx(quantile, abs=1e-4)


@pytest.mark.parametrize(
    ("results", "between", "limit_c", "agrees"),
    [
        ([60.0, 60.5], False, 0.5, True),
        ([60.0, 60.6], False, 0.5, False),
        ([60.0, 62.6], True, 2.67, True),
        ([60.0, 62.7], True, 2.67, False),
        ([60.0, 60.3, 60.59], False, 0.5979, True),
    ],
)
def test_results_within_r_or_reproducibility(results, between, limit_c, agrees):
    found = agree(
        results, repeatability_c=0.5, reproducibility_c=2.67, between_laboratories=between
    )
    assert found.limit_c == pytest.approx(limit_c)
    assert found.agree == agrees
    assert found.difference_c == pytest.approx(max(results) - min(results))


@given(st.floats(0.1, 5), st.floats(1, 5), st.integers(1, 9), st.integers(1, 9))
def test_more_results_never_widen_what_two_laboratories_may_differ_by(r, ratio, first, second):
    big = r * ratio
    limit_c = mean_difference_limit_c(first, second, repeatability_c=r, reproducibility_c=big)
    more_c = mean_difference_limit_c(first + 1, second, repeatability_c=r, reproducibility_c=big)
    assert more_c <= limit_c + 1e-12 <= big + 1e-9


def test_means_of_two_laboratories():
    found = agree_means([60, 61], [63, 64], repeatability_c=2, reproducibility_c=4)
    assert (found.difference_c, found.agree) == (3.0, True)
    assert found.limit_c == pytest.approx(3.74166, abs=5e-6)


def test_what_cannot_be_compared_is_refused():
    with pytest.raises(InputError, match="nothing to agree"):
        agree([60.0], repeatability_c=0.5)
    with pytest.raises(InputError, match="by R"):
        agree([60.0, 61.0], repeatability_c=0.5, between_laboratories=True)
    with pytest.raises(Refused, match="2 to 10"):
        agree([60.0] * 11, repeatability_c=0.5)
    with pytest.raises(InputError, match="smaller than r"):
        agree_means([1], [2], repeatability_c=3, reproducibility_c=2)
