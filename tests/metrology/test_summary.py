"""Summaries lose no digits: any offset, any order, and an independent library on easy data."""

from fractions import Fraction
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.metrology.summary import one_way, polynomial, regress, univariate

tenths = st.lists(st.integers(0, 50), min_size=3, max_size=30).filter(lambda them: len({*them}) > 1)


@given(tenths, st.integers(0, 12))
def test_a_large_offset_costs_no_digit(values, exponent):
    near = univariate([float(f"1.{value:02d}") for value in values])
    far = univariate([float(f"{10**exponent}.{value:02d}") for value in values])
    exact = [Fraction(value, 100) for value in values]
    mean = sum(exact) / len(exact)
    variance = sum((value - mean) ** 2 for value in exact) / (len(exact) - 1)
    assert far.deviation == pytest.approx(sqrt(variance), rel=1e-13)
    assert far.deviation == pytest.approx(near.deviation, rel=1e-13)


@pytest.mark.outside(source="scipy.stats.f_oneway", known="package")
def test_f_is_that_of_an_independent_library():
    from scipy.stats import f_oneway  # noqa: TID251  (a check against it, not part of the program)

    generator = np.random.default_rng(1)
    groups = [generator.normal(60 + shift, 1, size) for shift, size in ((0, 5), (0.5, 9), (1, 3))]
    assert one_way(groups).f == pytest.approx(f_oneway(*groups).statistic, rel=1e-12)


@given(st.lists(st.integers(-20, 20), min_size=1, max_size=4))
def test_a_polynomial_is_found_again(coefficients):
    x = np.arange(10.0)
    y = sum(b * x**power for power, b in enumerate(coefficients))
    found = polynomial(x, y, len(coefficients) - 1)
    assert found.coefficients == pytest.approx(coefficients, abs=1e-9)
    assert found.residual_deviation == 0


def test_what_cannot_be_fitted_is_refused_in_words():
    x = [1.0, 2.0, 3.0, 4.0]
    with pytest.raises(Refused, match="follows from the others"):
        regress([x, [2.0, 4.0, 6.0, 8.0]], [1.0, 2.0, 2.0, 3.0])
    with pytest.raises(Refused, match="do not fix"):
        polynomial(x, x, 3)
    with pytest.raises(InputError, match="length"):
        regress([x], [1.0, 2.0])
    with pytest.raises(Refused, match="spread within"):
        one_way([[1.0, 1.0], [2.0, 2.0]])
    with pytest.raises(Refused, match="at least 3"):
        univariate([1.0, 2.0])
