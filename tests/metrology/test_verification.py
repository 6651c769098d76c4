"""Verification of an apparatus against a reference value."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.metrology import (
    reference_liquids,
    single_laboratory_reproducibility_c,
    verification_limit_c,
    verify,
)

PRECISION = {"repeatability_c": 0.5, "reproducibility_c": 2.4}


@given(st.floats(0.1, 5), st.floats(1, 5), st.integers(1, 30), st.floats(0, 2))
def test_more_results_tighten_and_uncertainty_widens(r, ratio, n, u):
    given_precision = {"repeatability_c": r, "reproducibility_c": r * ratio}
    limit_c = verification_limit_c(n, **given_precision)
    assert verification_limit_c(n + 1, **given_precision) <= limit_c + 1e-12
    with_u = verification_limit_c(n, **given_precision, expanded_uncertainty_c=u)
    assert with_u == pytest.approx(sqrt(limit_c**2 + u**2))
    assert single_laboratory_reproducibility_c(1, **given_precision) == pytest.approx(r * ratio)


def test_the_limit_is_the_95_percent_bound_of_a_laboratory_mean():
    """Simulated: laboratories scatter so that two results differ by R, repeats by r, in 95 %."""
    random = np.random.default_rng(1)
    r, big, n = 1.0, 3.0, 3
    within, total = r / (1.96 * sqrt(2)), big / (1.96 * sqrt(2))
    between = sqrt(total**2 - within**2)
    means = random.normal(0, between, 400_000) + random.normal(0, within / sqrt(n), 400_000)
    limit_c = verification_limit_c(n, repeatability_c=r, reproducibility_c=big)
    assert np.mean(np.abs(means) <= limit_c) == pytest.approx(0.95, abs=0.002)


def test_in_control_at_the_limit_and_out_above_it():
    limit_c = 2.4 / sqrt(2)
    inside = verify([60.0 + limit_c], reference_value_c=60.0, **PRECISION)
    outside = verify([60.0 + limit_c + 0.001], reference_value_c=60.0, **PRECISION)
    assert (inside.in_control, outside.in_control) == (True, False)
    assert inside.steps


def test_bad_input():
    with pytest.raises(InputError, match="needs a result"):
        verify([], reference_value_c=60.0, **PRECISION)
    with pytest.raises(InputError, match="not a number"):
        verify([float("nan")], reference_value_c=60.0, **PRECISION)
    with pytest.raises(InputError, match="smaller than r"):
        verify([60.0], reference_value_c=60.0, repeatability_c=3, reproducibility_c=2)


def test_a_reference_value_belongs_to_one_kind_of_method():
    keys = [(one.liquid, one.method_family) for one in reference_liquids()]
    assert len(keys) == len(set(keys))
    decane = {
        one.method_family: one.value_c for one in reference_liquids() if one.liquid == "n-decane"
    }
    assert decane["stirred ramp"] - decane["small scale"] > 3
