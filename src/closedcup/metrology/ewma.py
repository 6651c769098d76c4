"""The exponentially weighted moving average: small lasting shifts add up."""

from dataclasses import dataclass
from itertools import accumulate
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError
from closedcup.metrology.series import checked

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ewma:
    """The average after each value; `lower` and `upper` have the same length."""

    values: Floats
    centre: float
    lower: Floats
    upper: Floats
    weight: float


def ewma(  # noqa: PLR0913  (each names itself at the call)
    values: ArrayLike,
    *,
    centre: float,
    sigma: float,
    weight: float,
    start: float | None = None,
    width: float = 3.0,
    exact: bool = False,
) -> Ewma:
    """Return zᵢ = λ xᵢ + (1 - λ) zᵢ₋₁ with limits centre ± width σ √(λ/(2 - λ)).

    start: z₀, the centre unless given; the first result where it begins the average (petroleum
    practice) gives z₁ = x₁. `exact` multiplies the variance by 1 - (1 - λ)^(2i), which narrows
    the first limits. Raises InputError for a weight outside (0, 1] or a sigma that is not
    positive.
    """
    if not 0 < weight <= 1:
        raise InputError(
            "weight",
            f"The weight {weight:g} is not above 0 and up to 1.",
            where="weight",
            fix="0.2 to 0.4",
        )
    if not sigma > 0:
        raise InputError("sigma-not-positive", "A positive sigma makes limits.", where="sigma")
    series = checked(values, at_least=1, purpose="A moving average", spread=False)
    begin = centre if start is None else start
    smooth = accumulate(
        series.tolist(), lambda z, x: weight * x + (1 - weight) * z, initial=float(begin)
    )
    averages = np.fromiter(smooth, dtype=np.float64, count=series.size + 1)[1:]
    half = np.full(series.size, width * sigma * sqrt(weight / (2 - weight)))
    if exact:
        half *= np.sqrt(1 - (1 - weight) ** (2 * np.arange(1, series.size + 1)))
    return Ewma(averages, centre, centre - half, centre + half, weight)


def average_run_length(*, weight: float, width: float, shift: float, nodes: int = 150) -> float:
    """Return how many points pass on average before a signal, with constant limits.

    shift: of the mean, in σ. By the integral equation of the run length from the centre on
    Gauss-Legendre nodes.
    """
    limit = width * sqrt(weight / (2 - weight))
    points, areas = np.polynomial.legendre.leggauss(nodes)
    at, area = limit * points, limit * areas
    arrive = (at - (1 - weight) * at[:, None]) / weight - shift
    kernel = area * _density(arrive) / weight
    runs = np.linalg.solve(np.eye(nodes) - kernel, np.ones(nodes))
    first = area * _density(at / weight - shift) / weight
    return float(1 + first @ runs)


def _density(value: Floats) -> Floats:
    return np.exp(-0.5 * value**2) / sqrt(2 * np.pi)
