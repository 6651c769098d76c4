"""What observations say of a flash point, and how the scatter is drawn from a repeatability."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.planning.belief import Interval, Observed, posterior_after, prior_from_interval
from closedcup.planning.observing import (
    Observing,
    scatter_from_repeatability,
    spread_of_stepped_results,
)

PRIOR = prior_from_interval(Interval(60, 55, 66), lowest_cup_c=-30, highest_cup_c=150)
observed = st.builds(Observed, st.integers(-30, 150).map(float), st.booleans())
model = st.builds(Observing, st.floats(0.05, 3), st.floats(1e-4, 0.2))


@settings(deadline=None)
@given(st.lists(observed, max_size=30), model)
def test_a_posterior_is_normalised_and_never_negative(observations, model):
    belief = posterior_after(PRIOR, observations, model)
    assert belief.chance.min() >= 0
    assert belief.chance.sum() == pytest.approx(1)
    low_c, high_c = belief.interval_cup_c()
    assert -31 < low_c <= high_c < 151


@settings(deadline=None)
@given(st.lists(observed, max_size=8), model)
def test_the_order_of_observations_does_not_matter(observations, model):
    forwards = posterior_after(PRIOR, observations, model)
    backwards = posterior_after(PRIOR, observations[::-1], model)
    np.testing.assert_allclose(forwards.chance, backwards.chance, atol=1e-9)


@settings(deadline=None)
@given(st.lists(observed, max_size=5), model, st.integers(-30, 150).map(float))
def test_a_flash_lowers_what_is_believed_and_no_flash_raises_it(observations, model, cup_c):
    before = posterior_after(PRIOR, observations, model).mean_cup_c
    lit = posterior_after(PRIOR, [*observations, Observed(cup_c, True)], model).mean_cup_c
    unlit = posterior_after(PRIOR, [*observations, Observed(cup_c, False)], model).mean_cup_c
    assert lit <= before + 1e-9 <= unlit + 2e-9


def test_the_prior_keeps_the_interval_and_a_little_doubt():
    assert PRIOR.chance_between(55, 66) == pytest.approx(0.95 * 0.98, abs=0.01)
    assert PRIOR.chance_between(80, 100) > PRIOR.chance_between(100, 120) > 1e-4  # a wrong label


def test_what_cannot_be_true_together_is_refused_without_scatter():
    exact = Observing(0.0, lapse=0.0)
    with pytest.raises(InputError, match="No flash point fits"):
        posterior_after(PRIOR, [Observed(60, True), Observed(61, False)], exact)


@pytest.mark.parametrize(
    ("make", "kind"),
    [
        (lambda: Interval(60, 61, 66), "interval-order"),
        (lambda: Observing(-1), "scatter-impossible"),
        (lambda: Observing(0.2, 0.5), "lapse-impossible"),
        (lambda: scatter_from_repeatability(0, 1), "repeatability-impossible"),
        (
            lambda: prior_from_interval(
                Interval(60, 55, 66), lowest_cup_c=-np.inf, highest_cup_c=150
            ),
            "reach-unknown",
        ),
    ],
)
def test_bad_input_is_named(make, kind):
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.kind == kind


@pytest.mark.outside(source="random walks up a scale, counted", known="memory")
@pytest.mark.parametrize(("scatter_c", "step_c"), [(0.1, 1.0), (0.6, 1.0), (1.0, 1.0), (0.3, 0.5)])
def test_the_spread_of_stepped_results_is_that_of_walks(scatter_c, step_c):
    random = np.random.default_rng(7)
    flash_c = random.random(4000)
    cups_c = np.arange(-8.0, 9.0)

    def results_c():
        threshold_c = flash_c[:, None] + scatter_c * random.standard_normal((4000, len(cups_c)))
        first_c = cups_c[np.argmax(threshold_c <= cups_c, axis=1)]
        lower = flash_c + scatter_c * random.standard_normal(4000) <= first_c - step_c
        return first_c - step_c * (lower & (step_c < 1))

    counted_c = np.sqrt(((results_c() - results_c()) ** 2).mean() / 2)
    assert spread_of_stepped_results(scatter_c, step_c) == pytest.approx(counted_c, rel=0.06)


@settings(deadline=None)
@given(st.floats(0.1, 4), st.sampled_from([0.5, 1.0]))
def test_a_scatter_gives_back_the_repeatability_it_came_from(repeatability_c, step_c):
    scatter_c = scatter_from_repeatability(repeatability_c, step_c)
    spread_c = spread_of_stepped_results(scatter_c, step_c)
    assert 2 * 2**0.5 * 0.97998 * spread_c == pytest.approx(repeatability_c, rel=1e-3)
