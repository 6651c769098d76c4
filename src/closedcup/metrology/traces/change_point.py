"""Where a signal leaves its base: a change point with its interval from the likelihood.

Model: reading = base + drift · time + height · (1 from the change to its end, else 0) + noise,
the noise Gaussian with one unknown variance. The end is free: a pulse, or a step that lasts.

1. The strongest change over all beginnings and lengths is taken; it is significant where its t
   passes Student's quantile shared among all places looked at (Bonferroni). The search is
   repeated before it, so that the first change is found that is at least half as high.
2. Up to the end of that change the model has one parameter in question, the beginning. Its profile
   likelihood gives the interval: all places with n · ln(SSE / least SSE) ≤ -2 ln(1 - √coverage),
   the quantile of the likelihood ratio of a change point (Siegmund, Annals of Statistics 16 (1988);
   memory). It is exact for small steps in many readings, too wide for large ones.

Where neighbouring residuals go together (lag-one correlation ρ), both comparisons are divided by
(1 + ρ)/(1 - ρ).
"""

from dataclasses import dataclass
from math import log, sqrt
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError
from closedcup.metrology.quantiles import student_quantile
from closedcup.metrology.traces.trace import Floats

Places = NDArray[np.int64]

FALSE_ALARM: Final = 0.01
"""Share of signals without a change in which one is found, at most."""
_BASE: Final = 8
"""Readings before a change, at least: the base, its drift and the noise come from them."""
_LENGTHS: Final = 48
_AS_HIGH: Final = 0.5
_STRONGEST_CORRELATION: Final = 0.98
_ROUNDING: Final = 1e-9
"""Of the signal's range: what arithmetic leaves of a signal without noise."""


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """A change: the first reading after it, and the range in which that reading lies.

    height: of the step, in the signal's unit, signed. noise: standard deviation around the model.
    correlation: of neighbouring residuals. strength: t of the step, its correlation allowed for.
    """

    index: int
    low_index: int
    high_index: int
    height: float
    noise: float
    correlation: float
    strength: float


class _Regression(NamedTuple):
    """A signal without its base and drift, in the sums that every candidate is scored from."""

    size: int
    sums: Floats  # of the residuals, with a zero in front
    basis_sums: Floats  # of the two orthonormal columns, likewise
    squares: float
    floor: float

    def gains(self, begin: Places, end: Places) -> Floats:
        """Return what each step from `begin` up to, not including, `end` takes off the squares."""
        own = self.sums[end] - self.sums[begin]
        shared = self.basis_sums[end] - self.basis_sums[begin]
        free = (end - begin) - (shared**2).sum(axis=-1)
        return np.asarray(np.where(free > _ROUNDING, own**2 / np.maximum(free, _ROUNDING), 0.0))

    def height(self, first: int, last: int) -> float:
        """Return the height of a step."""
        shared = self.basis_sums[last] - self.basis_sums[first]
        free = (last - first) - float(shared @ shared)
        return float(self.sums[last] - self.sums[first]) / free


def locate_change(
    time_s: ArrayLike,
    signal: ArrayLike,
    *,
    coverage: float = 0.95,
    longest_s: float = 60.0,
) -> ChangePoint | None:
    """Return the first change of a signal that counts, or None where there is none.

    time_s increases; longest_s bounds a pulse (a step that lasts to the end is always tried). The
    first 8 readings are taken to be base. InputError: lengths differ, a coverage outside 0 to 1.
    """
    times = np.asarray(time_s, dtype=np.float64)
    values = np.asarray(signal, dtype=np.float64)
    if times.shape != values.shape or times.ndim != 1 or not 0 < coverage < 1:
        raise InputError(
            "change-input", "Times and signal are not of one length.", where="locate_change"
        )
    longest = int(longest_s / max(float(np.median(np.diff(times))), 1e-9)) if times.size > 1 else 1
    span = None
    end, least_height = values.size, 0.0
    while (found := _strongest(times[:end], values[:end], longest)) is not None:
        first, last, height, _ = found
        if abs(height) < least_height:
            break
        span, end = found, first
        least_height = max(least_height, _AS_HIGH * abs(height))
    if span is None:
        return None
    first, last, _, strength = span
    return _profile(times[:last], values[:last], strength, coverage)


def _strongest(times: Floats, values: Floats, longest: int) -> tuple[int, int, float, float] | None:
    """Return beginning, end, height and strength of the strongest change if it is significant."""
    n = values.size
    if n < _BASE + 4 or np.ptp(values) == 0:
        return None
    made = _regression(times, values)
    most = max(1, min(longest, n // 2))
    lengths = np.unique(np.geomspace(1, most, min(_LENGTHS, most)).round().astype(int))
    best = (0.0, 0, 0)
    for length in (*lengths, 0):
        begin = np.arange(_BASE, n if length == 0 else n - length + 1)
        end = np.full_like(begin, n) if length == 0 else begin + length
        gains = made.gains(begin, end)
        place = int(np.argmax(gains))
        best = max(best, (float(gains[place]), int(begin[place]), int(end[place])))
    gain, first, last = best
    if not last:
        return None
    variance = max(made.squares - gain, made.floor) / (n - 3)
    rho = _correlation(_residuals(times, values, first, last), made.floor)
    strength = sqrt(gain / variance / _inflation(rho))
    tried = n * (lengths.size + 1)
    if strength < student_quantile(1 - FALSE_ALARM / (2 * tried), n - 3):
        return None
    return first, last, made.height(first, last), strength


def _profile(times: Floats, values: Floats, strength: float, coverage: float) -> ChangePoint:
    """Place the beginning of a step that lasts to the end of these readings, with its interval."""
    n = values.size
    made = _regression(times, values)
    begin = np.arange(_BASE, n)
    squares = np.maximum(made.squares - made.gains(begin, np.full_like(begin, n)), made.floor)
    place = int(np.argmin(squares))
    index = int(begin[place])
    residuals = _residuals(times, values, index, n)
    rho = _correlation(residuals, made.floor)
    deviance = n * np.log(squares / squares[place]) / _inflation(rho)
    inside = begin[deviance <= -2 * log(1 - sqrt(coverage))]
    noise = sqrt(float(squares[place]) / (n - 3))
    height = made.height(index, n)
    low = min(int(inside[0]), _end_of_base(times, values, index))
    return ChangePoint(index, low, int(inside[-1]), height, noise, rho, strength)


def _end_of_base(times: Floats, values: Floats, index: int) -> int:
    """Return the first reading of a slow rise: what follows the last one within 3 s of the base.

    A detector that takes several readings to rise left its base before the step that fits best.
    """
    made = _basis(times[:index])
    base = values[:index] - made @ (made.T @ values[:index])
    # The median deviation holds against the few readings of the rise (1.4826 s of a normal one).
    limit = 3 * 1.4826 * float(np.median(np.abs(base - np.median(base))))
    limit = max(limit, _ROUNDING * float(np.ptp(values)))
    first = index
    while first > _BASE and abs(base[first - 1] - np.median(base)) > limit:
        first -= 1
    return first


def _basis(times: Floats) -> Floats:
    away = times - times.mean()
    columns = np.stack([np.ones_like(away), away], axis=1)
    return np.asarray(columns / np.linalg.norm(columns, axis=0))


def _regression(times: Floats, values: Floats) -> _Regression:
    basis = _basis(times)
    residuals = values - values.mean()
    residuals = residuals - basis @ (basis.T @ residuals)
    zero = np.zeros((1, 2))
    floor = values.size * (_ROUNDING * float(np.ptp(values))) ** 2
    return _Regression(
        size=values.size,
        sums=np.concatenate([[0.0], np.cumsum(residuals)]),
        basis_sums=np.concatenate([zero, np.cumsum(basis, axis=0)]),
        squares=float(residuals @ residuals),
        floor=floor,
    )


def _residuals(times: Floats, values: Floats, first: int, last: int) -> Floats:
    step = np.zeros_like(values)
    step[first:last] = 1.0
    basis = _basis(times)
    values, step = (column - basis @ (basis.T @ column) for column in (values - values[0], step))
    return np.asarray(values - step * (step @ values) / (step @ step))


def _correlation(residuals: Floats, floor: float) -> float:
    squares = float(residuals @ residuals)
    if squares <= floor:
        return 0.0
    return min(float(residuals[1:] @ residuals[:-1]) / squares, _STRONGEST_CORRELATION)


def _inflation(correlation: float) -> float:
    rho = max(correlation, 0.0)
    return (1 + rho) / (1 - rho)
