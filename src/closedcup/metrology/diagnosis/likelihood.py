"""How well each cause, and none, explains a history: regression with autocorrelated noise.

The model of a cause is y = a + b x + e. x is its column, b its effect, a a bias that is too small
to matter, e noise that is correlated with the result before, AR(1). Its marginal likelihood is
integrated in closed form over a and b (both normal) and on a grid over the noise's size and
correlation; for many results it becomes what the Bayesian information criterion approximates.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.metrology.diagnosis.history import Floats, ReferenceHistory
from closedcup.metrology.diagnosis.signatures import Signature

# Correlation of neighbours, each value as likely as the next (our choice).
CORRELATIONS: Final = np.linspace(0.0, 0.8, 9)
# Size of the noise over the expected one, logarithmic: a site in order repeats as well as the
# method says or better, with half left for chance; beyond that is scatter (our choice).
ORDERLY: Final = np.geomspace(0.3, 1.2, 9)
SCATTERED: Final = np.geomspace(1.2, 6.0, 9)
# A bias of a quarter of the noise is no bias: reference values are not exact (our choice).
_HARMLESS_BIAS: Final = 0.25


@dataclass(frozen=True, slots=True)
class Weighed:
    """For each history (rows) and each model (none, then each column, then scatter).

    log_evidence: marginal likelihood. effect_c, effect_deviation_c: of the coefficient, by its
    posterior. fit: log likelihood at that effect. noise, noise_deviation: over the expected noise.
    """

    log_evidence: Floats
    fit: Floats
    effect_c: Floats
    effect_deviation_c: Floats
    noise: Floats
    noise_deviation: Floats


def harmless_bias_c(history: ReferenceHistory) -> float:
    """Return the standard deviation of a bias that is no fault: small, or the reference's own."""
    return float(np.hypot(_HARMLESS_BIAS * history.noise_c.mean(), history.reference_uncertainty_c))


def weigh(histories: Sequence[ReferenceHistory], columns: Sequence[Sequence[Signature]]) -> Weighed:
    """Weigh the models of histories that are alike in length and in their causes' columns."""
    noise_c = np.array([one.noise_c for one in histories])[:, None, :]
    count = noise_c.shape[-1]
    none = np.zeros((len(histories), 1, count))
    x = np.concatenate([none, [[one.column for one in row] for row in columns], none], axis=1)
    expected = _by_model([[one.expected_c for one in row] for row in columns], 0.0)
    # Without a column the effect stays as it was believed to be: any deviation serves.
    spread = _by_model([[one.expected_deviation_c for one in row] for row in columns], 1.0)
    y = np.array([one.difference_c for one in histories])[:, None, :] - expected[..., None] * x
    x, y, flat = x / noise_c, y / noise_c, np.ones_like(x) / noise_c
    harmless = np.array([harmless_bias_c(one) for one in histories])[:, None]
    size = np.broadcast_to(ORDERLY, (x.shape[1], ORDERLY.size)).copy()
    size[-1] = SCATTERED
    likelihood, b, variance = _integrated(x, y, flat, spread, harmless, size)
    likelihood -= np.log(noise_c).sum(axis=-1)  # densities are per °C, not per expected deviation
    return _summed(likelihood, b, variance, expected, spread, size)


def _by_model(values: Sequence[Sequence[float]], otherwise: float) -> Floats:
    outer = np.full((len(values), 1), otherwise)
    return np.concatenate([outer, np.array(values), outer], axis=1)


def _products(a: Floats, b: Floats) -> Floats:
    """Return Σ ab of series freed of each correlation, (correlation, 1, history, model).

    aᵀ C⁻¹ b (1 - ρ²) of an AR(1) correlation matrix C is this polynomial in ρ.
    """
    whole = (a * b).sum(axis=-1)
    lagged = (a[..., 1:] * b[..., :-1] + a[..., :-1] * b[..., 1:]).sum(axis=-1)
    inner = (a[..., 1:-1] * b[..., 1:-1]).sum(axis=-1)
    rho = CORRELATIONS[:, None, None, None]
    products: Floats = whole - rho * lagged + rho**2 * inner
    return products


def _integrated(  # noqa: PLR0913, PLR0917 - the terms of one formula
    x: Floats, y: Floats, flat: Floats, spread: Floats, harmless: Floats, size: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return log likelihood, effect and its variance by (correlation, size, history, model).

    With u = (flat, x) and prior precision D, the posterior precision is P = uᵀV⁻¹u + D and
    ln L = -½ (n ln 2π + ln|V| + yᵀV⁻¹y - gᵀP⁻¹g + ln|P| - ln|D|), g = uᵀV⁻¹y.
    """
    count = x.shape[-1]
    left = (1 - CORRELATIONS**2)[:, None, None, None]
    variance = size.T[None, :, None, :] ** 2 * left
    p11 = _products(flat, flat) / variance + harmless**-2
    p12 = _products(flat, x) / variance
    p22 = _products(x, x) / variance + spread**-2
    g1, g2 = _products(flat, y) / variance, _products(x, y) / variance
    determinant = p11 * p22 - p12**2
    explained = (p22 * g1**2 - 2 * p12 * g1 * g2 + p11 * g2**2) / determinant
    log_likelihood = -0.5 * (
        count * np.log(2 * np.pi * variance)
        - np.log(left)
        + _products(y, y) / variance
        - explained
        + np.log(determinant * harmless**2 * spread**2)
    )
    return log_likelihood, (p11 * g2 - p12 * g1) / determinant, p11 / determinant


def _summed(  # noqa: PLR0913, PLR0917 - as above
    likelihood: Floats, b: Floats, variance: Floats, expected: Floats, spread: Floats, size: Floats
) -> Weighed:
    """Sum over the grid of the noise; each of its points is as likely as the next beforehand."""
    grid = (0, 1)
    highest = likelihood.max(axis=grid)
    weight = np.exp(likelihood - highest)
    total = weight.sum(axis=grid)
    weight /= total
    effect = (weight * b).sum(axis=grid)
    effect_variance = (weight * (variance + (b - effect) ** 2)).sum(axis=grid)
    sizes = size.T[None, :, None, :]
    noise = (weight * sizes).sum(axis=grid)
    noise_variance = (weight * (sizes - noise) ** 2).sum(axis=grid)
    evidence = highest + np.log(total / (CORRELATIONS.size * ORDERLY.size))
    # Evidence is likelihood at the effect, times its prior density, times its posterior's width.
    prior = -0.5 * (effect / spread) ** 2 - np.log(spread)
    return Weighed(
        log_evidence=evidence,
        fit=evidence - prior - 0.5 * np.log(effect_variance),
        effect_c=expected + effect,
        effect_deviation_c=np.sqrt(effect_variance),
        noise=noise,
        noise_deviation=np.sqrt(noise_variance),
    )
