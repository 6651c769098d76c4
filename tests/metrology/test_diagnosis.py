"""Causes are found in histories that another program made, and told apart only where data can."""

import numpy as np
import pytest
from scipy import optimize, stats  # noqa: TID251 - the independent check

from closedcup.errors import InputError, Refused
from closedcup.methods import correction_c
from closedcup.metrology.diagnosis import (
    CAUSES,
    PARTS,
    ReferenceHistory,
    cheapest_test,
    confirming_tests,
    diagnose,
    diagnose_all,
)
from closedcup.metrology.diagnosis.likelihood import (
    CORRELATIONS,
    ORDERLY,
    SCATTERED,
    harmless_bias_c,
    weigh,
)
from closedcup.metrology.diagnosis.signatures import signatures
from closedcup.metrology.simulated_histories import (
    CLEAN,
    FAULTS,
    Laboratory,
    simulate_history,
)

LABORATORY = Laboratory((45.0, 65.0, 100.0), lambda at_c: 0.029 * at_c)


def _on_record(simulated):
    return ReferenceHistory(
        difference_c=simulated.result_c - simulated.reference_c,
        repeatability_c=simulated.repeatability_c,
        resolution_c=0.5,
        temperature_c=simulated.reference_c,
        pressure_correction_c=correction_c(simulated.pressure_kpa),
        rate_c_per_min=simulated.rate_c_per_min,
        days_since_calibration=simulated.days_since_calibration,
        first_of_day=simulated.first_of_day,
        parts={part: getattr(simulated, part) for part in PARTS},
    )


def _simulated(fault, effect_in_r, count, seed, **more):
    generator = np.random.default_rng([seed, FAULTS.index(fault)])
    return [
        _on_record(simulate_history(LABORATORY, fault, effect_in_r, generator, **more))
        for _ in range(count)
    ]


def _covariance(history, signature, correlation, size):
    place = np.arange(history.difference_c.size)
    apart = np.abs(place[:, None] - place)
    noise = history.noise_c * size
    covariance = np.outer(noise, noise) * correlation**apart + harmless_bias_c(history) ** 2
    if signature is not None:
        column = signature.column * signature.expected_deviation_c
        covariance += np.outer(column, column)
    return covariance


def test_evidence_is_that_of_the_multivariate_normal_distribution():
    """Against scipy.stats: the same model written as one covariance matrix, grid point by point."""
    history = _simulated("change of lid", 1.0, 1, 3, results=12)[0]
    found, _ = signatures(history)
    weighed = weigh([history], [found])
    for model, signature in enumerate([None, *found, None]):
        mean = np.zeros(12) if signature is None else signature.expected_c * signature.column
        sizes = SCATTERED if model == len(found) + 1 else ORDERLY
        points = [
            stats.multivariate_normal.logpdf(
                history.difference_c, mean, _covariance(history, signature, correlation, size)
            )
            for correlation in CORRELATIONS
            for size in sizes
        ]
        expected = np.logaddexp.reduce(points) - np.log(len(points))
        assert weighed.log_evidence[0, model] == pytest.approx(expected, abs=1e-8)


def test_with_many_results_evidence_ranks_as_the_greatest_likelihood_does():
    """BIC: with equally many parameters, models differ by their greatest log likelihoods."""
    history = _simulated("drift since calibration", 1.0, 1, 5, results=400)[0]
    found, _ = signatures(history)
    weighed = weigh([history], [found])

    def greatest(column):
        def lost(parameters):
            bias, effect, correlation, log_size = parameters
            e = (history.difference_c - bias - effect * column) / history.noise_c
            fresh = np.append(
                e[0], (e[1:] - correlation * e[:-1]) / np.sqrt(1 - correlation**2)
            ) / np.exp(log_size)
            return (
                fresh @ fresh / 2
                + e.size * log_size
                + (e.size - 1) / 2 * np.log(1 - correlation**2)
            )

        bounds = [(-9, 9), (-9, 9), (0, 0.8), (-1.2, 0.2)]
        return -optimize.minimize(lost, [0.0, 0.0, 0.3, 0.0], bounds=bounds).fun

    places = [place for place, one in enumerate(found) if one.cause != "constant offset"]
    places = [place for place in places if found[place].expected_c == 0.0]
    by_likelihood = max(places, key=lambda place: greatest(found[place].column))
    by_evidence = max(places, key=lambda place: weighed.log_evidence[0, place + 1])
    assert by_likelihood == by_evidence
    assert found[by_evidence].cause == "drift since calibration"


@pytest.mark.parametrize(("effect_in_r", "at_least"), [(1.0, 0.8), (2.0, 0.95)])
def test_the_right_cause_or_its_pair_stands_first(effect_in_r, at_least):
    """Over all causes together; the benchmark prints each with 500 histories."""
    right = [
        fault in one.named
        for fault in FAULTS[1:]
        for one in diagnose_all(_simulated(fault, effect_in_r, 25, 11))
    ]
    assert np.mean(right) >= at_least


def test_clean_histories_raise_few_alarms():
    alarms = [one.found for one in diagnose_all(_simulated(CLEAN, 0.0, 200, 13))]
    assert np.mean(alarms) <= 0.05


@pytest.mark.parametrize("station_kpa", [88.0, 95.0, 108.0])
@pytest.mark.parametrize(
    ("times", "cause"), [(0, "pressure not corrected"), (2, "pressure corrected twice")]
)
def test_the_sign_of_a_pressure_error_follows_from_the_formula(station_kpa, times, cause):
    generator = np.random.default_rng(2)
    pressure = station_kpa + generator.uniform(-2, 2, 24)
    difference = (times - 1) * correction_c(pressure) + generator.normal(0, 0.2, 24)
    found = diagnose(
        ReferenceHistory(
            np.round(difference * 2) / 2,
            np.full(24, 0.9),
            resolution_c=0.5,
            pressure_correction_c=correction_c(pressure),
        )
    )
    assert found.causes[0].cause == cause
    assert np.sign(found.causes[0].effect_c) == np.sign(times - 1)
    below = station_kpa < 101.3
    assert (found.causes[0].fitted_c[0] < 0) == ((times == 0) == below)


def test_causes_that_the_data_cannot_tell_apart_are_named_together():
    """At a pressure that never differs, a missing correction is a constant offset."""
    history = ReferenceHistory(
        np.array([-2.0, -1.5, -2.0, -2.0, -1.5, -2.5, -2.0, -1.5, -2.0, -2.0]),
        np.full(10, 1.2),
        resolution_c=0.5,
        pressure_correction_c=np.full(10, 1.9),
    )
    found = diagnose(history)
    assert set(found.named) == {"pressure not corrected", "constant offset"}
    assert cheapest_test(found.named).minutes <= 5


def test_what_is_not_on_record_is_not_examined_and_said():
    history = ReferenceHistory(np.array([1.0, 1.5] * 5), np.full(10, 0.9), resolution_c=0.5)
    found = diagnose(history)
    assert found.causes[0].cause == "constant offset"
    assert set(found.not_examined) == set(CAUSES) - {"constant offset", "scatter without bias"}


def test_an_interval_holds_the_effect_as_often_as_it_says():
    generator = np.random.default_rng(17)
    held = []
    for _ in range(150):
        simulated = simulate_history(LABORATORY, "change of igniter", 2.0, generator)
        ranked = {one.cause: one for one in diagnose(_on_record(simulated)).causes}
        found = ranked["change of igniter"]
        if found.at == "with igniter 2":
            held.append(found.low_c <= simulated.effect_c <= found.high_c)
    assert len(held) > 100
    assert np.mean(held) >= 0.88  # 95 %, less three standard deviations of the count


def test_every_cause_has_its_confirming_test():
    assert {one.cause for one in confirming_tests()} == set(CAUSES)
    assert all(one.caution and one.known == "common practice" for one in confirming_tests())


@pytest.mark.parametrize(
    ("difference", "r", "error"),
    [
        ([0.5] * 7, [0.9] * 7, Refused),
        ([0.5] * 9 + [np.nan], [0.9] * 10, InputError),
        ([0.5] * 10, [0.9] * 9 + [0.0], InputError),
    ],
)
def test_bad_input_is_refused_in_words(difference, r, error):
    with pytest.raises(error):
        diagnose(ReferenceHistory(np.array(difference), np.array(r)))


def test_an_unknown_fault_is_refused():
    with pytest.raises(InputError, match="not simulated"):
        simulate_history(LABORATORY, "gremlins", 1.0, np.random.default_rng(1))
