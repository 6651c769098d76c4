"""Threshold and scatter from yes and no: properties and refusals (published fits: validation)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.metrology.sensitivity import (
    dixon_mood,
    fit_probit,
    log_probit_information,
    probit_information,
    up_and_down,
)


@given(st.floats(-50, 200), st.floats(0.2, 5), st.floats(0.3, 3))
def test_a_fit_moves_with_its_scale(shift, scale, spread):
    x = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    tested, yes = [20] * 5, [1, 4, 9, 16, 19]
    plain = fit_probit(x * spread, tested, yes)
    moved = fit_probit(shift + scale * x * spread, tested, yes)
    assert moved.threshold == pytest.approx(shift + scale * plain.threshold, abs=1e-6)
    assert moved.scatter == pytest.approx(scale * plain.scatter, rel=1e-6)
    assert moved.deviance == pytest.approx(plain.deviance, abs=1e-6)


def test_a_fit_finds_what_made_the_answers():
    random = np.random.default_rng(11)
    x = np.repeat(np.arange(57.0, 65.0), 400)
    yes = 61.2 + 0.8 * random.standard_normal(len(x)) <= x
    fit = fit_probit(x, np.ones_like(x), yes)
    assert fit.threshold == pytest.approx(61.2, abs=4 * fit.threshold_standard_error)
    assert fit.scatter == pytest.approx(0.8, abs=0.1)


@pytest.mark.parametrize(
    ("x", "yes", "kind"),
    [
        ([58, 60, 61, 62], [0, 0, 1, 1], "no-overlap"),
        ([58, 60, 60, 62], [0, 0, 1, 1], "no-overlap"),
        ([58, 60, 61, 62], [1, 1, 0, 0], "no-overlap"),
        ([58, 60], [0, 0], "one-answer-only"),
    ],
)
def test_without_overlap_no_scatter_is_invented(x, yes, kind):
    with pytest.raises(Refused) as caught:
        fit_probit(x, [1] * len(x), yes)
    assert caught.value.kind == kind


def test_the_interval_is_said_where_nothing_overlaps():
    with pytest.raises(Refused, match="between 60 and 61"):
        fit_probit([58, 60, 61, 62], [1] * 4, [0, 0, 1, 1])


@pytest.mark.parametrize(
    ("call", "kind"),
    [
        (lambda: fit_probit([1, 2], [1], [0]), "counts-shape"),
        (lambda: fit_probit([1, 2], [1, 1], [0, 2]), "counts-impossible"),
        (lambda: dixon_mood([60, 61, 63], [1, 2, 1], counting="yes"), "levels-uneven"),
        (lambda: dixon_mood([60, 61], [0, 0], counting="yes"), "counts-shape"),
    ],
)
def test_bad_input_is_named(call, kind):
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.kind == kind


def test_a_narrow_series_gives_a_threshold_and_no_scatter():
    narrow = up_and_down([60, 61, 60, 61, 60, 61], [0, 1, 0, 1, 0, 1])
    assert narrow.threshold == pytest.approx(60.5)
    assert narrow.scatter is None
    with pytest.raises(Refused, match="one answer"):
        up_and_down([60, 61], [0, 0])


def test_counting_no_or_yes_of_a_symmetric_series_gives_the_same_threshold():
    yes = dixon_mood([60, 61, 62], [1, 2, 1], counting="yes")
    no = dixon_mood([59, 60, 61], [1, 2, 1], counting="no")
    assert yes.threshold == no.threshold == 60.5


def test_information_is_largest_at_the_threshold_and_does_not_underflow_in_logarithms():
    z = np.linspace(-4, 4, 81)
    assert np.argmax(probit_information(z)) == 40
    far = log_probit_information([-60.0, 60.0])
    assert np.isfinite(far).all()
    assert far[0] == pytest.approx(far[1])
