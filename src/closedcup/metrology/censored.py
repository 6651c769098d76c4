"""Mean and standard deviation of results that are brackets: rounded, or found by steps.

A result of 60.5 °C read to 0.5 °C says that something lay from 60.25 to 60.75 °C; a search by
steps says between the highest no flash and the lowest flash. The likelihood of a normal
distribution is the product of the areas over those brackets.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError
from closedcup.metrology.quantiles import normal_area
from closedcup.metrology.series import checked

Floats = NDArray[np.float64]

_DROP = 1.9207  # half the 95 % point of chi-square with 1 degree of freedom: 3.8415/2
_GRID = 25
_PASSES = 10


@dataclass(frozen=True, slots=True)
class BracketEstimate:
    """The most likely mean and standard deviation.

    `deviation` is None where the brackets fix no standard deviation: all touch at one place, so
    that none at all would explain them; the mean is then the one that belongs to
    `deviation_upper`, the upper limit by the profile of the likelihood (two-sided 95 %).
    """

    mean: float
    deviation: float | None
    deviation_upper: float
    n: int


def brackets_of(values: ArrayLike, resolution: ArrayLike) -> tuple[Floats, Floats]:
    """Return the brackets of rounded values: half the resolution to each side."""
    series = np.asarray(values, dtype=np.float64)
    half = np.broadcast_to(np.asarray(resolution, dtype=np.float64) / 2, series.shape)
    return series - half, series + half


def estimate_from_brackets(low: ArrayLike, high: ArrayLike) -> BracketEstimate:
    """Return the maximum-likelihood mean and standard deviation of bracketed results.

    low, high: ends of each bracket, at least 5, low < high. Raises InputError for a bracket
    without width, Refused for fewer than five.
    """
    lows = checked(low, at_least=5, purpose="An estimate from brackets", spread=False)
    highs = checked(high, at_least=5, purpose="An estimate from brackets", spread=False)
    if lows.shape != highs.shape or (lows >= highs).any():
        raise InputError(
            "bracket-order",
            "Each bracket needs a lower end below its upper end.",
            where="brackets",
            fix="Give the highest no flash and the lowest flash of each result.",
        )
    cells, counts = np.unique(np.stack([lows, highs], axis=1), axis=0, return_counts=True)
    width = float(np.median(highs - lows))
    reach = float(highs.max() - lows.min())
    centre = float(np.mean((lows + highs) / 2))
    # A rounding noise of a thousandth of a cell still counts as touching.
    fixed = lows.max() - highs.min() > 1e-6 * width
    start = (centre, reach / 2, float(np.log(width / 50)), float(np.log(4 * reach)))
    mean, log_deviation, best = _climb(cells, counts, start)
    mean_at_upper, upper = _profile_upper(cells, counts, start, (mean, log_deviation, best))
    return BracketEstimate(
        mean=mean if fixed else mean_at_upper,
        deviation=float(np.exp(log_deviation)) if fixed else None,
        deviation_upper=upper,
        n=lows.size,
    )


def _log_likelihood(cells: Floats, counts: NDArray[np.int_], mean: Floats, log_s: Floats) -> Floats:
    """Return the log-likelihood over a grid: shape (means, deviations)."""
    s = np.exp(log_s)[None, :, None]
    a = (cells[:, 0] - mean[:, None, None]) / s
    b = (cells[:, 1] - mean[:, None, None]) / s
    # Both ends on one side: areas are taken in the lower tail, where they keep their digits.
    flip = a > 0
    area = normal_area(np.where(flip, -a, b)) - normal_area(np.where(flip, -b, a))
    return np.asarray(np.log(np.maximum(area, 1e-300)) @ counts, dtype=np.float64)


def _climb(
    cells: Floats, counts: NDArray[np.int_], start: tuple[float, float, float, float]
) -> tuple[float, float, float]:
    """Find the top on a grid that closes in on it; the surface has one top."""
    mean, half, low, high = start
    middle, spread = (low + high) / 2, (high - low) / 2
    best = -np.inf
    for _ in range(_PASSES):
        means = np.linspace(mean - half, mean + half, _GRID)
        logs = np.linspace(middle - spread, middle + spread, _GRID)
        surface = _log_likelihood(cells, counts, means, logs)
        i, j = np.unravel_index(int(surface.argmax()), surface.shape)
        mean, middle, best = float(means[i]), float(logs[j]), float(surface[i, j])
        half, spread = half / 5, spread / 5
    return mean, middle, best


def _profile_upper(
    cells: Floats,
    counts: NDArray[np.int_],
    start: tuple[float, float, float, float],
    top: tuple[float, float, float],
) -> tuple[float, float]:
    """Return the largest standard deviation that the data still allow (95 %), after its mean."""
    _, half, _, high = start
    mean, log_deviation, best = top
    means = mean + 2 * half * np.linspace(-1, 1, 3 * _GRID) ** 3  # dense where the top is
    below, above = log_deviation, high
    for _ in range(5):
        logs = np.linspace(below, above, _GRID)
        surface = _log_likelihood(cells, counts, means, logs)
        allowed = np.flatnonzero(surface.max(axis=0) >= best - _DROP)
        last = int(allowed[-1]) if allowed.size else 0
        mean = float(means[int(surface[:, last].argmax())])
        below, above = float(logs[last]), float(logs[min(last + 1, _GRID - 1)])
    return mean, float(np.exp(below))
