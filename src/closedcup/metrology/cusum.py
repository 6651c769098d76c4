"""The cumulative sum: how far results have moved away from a target, up and down apart."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError
from closedcup.metrology.quantiles import normal_area
from closedcup.metrology.series import checked

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cusum:
    """Sums above and below the target after each value; a sum above `interval` is a signal."""

    high: Floats
    low: Floats
    deviations: Floats
    target: float
    allowance: float
    interval: float

    @property
    def signals(self) -> NDArray[np.bool_]:
        """Where a sum is beyond the decision interval."""
        return (self.high > self.interval) | (self.low > self.interval)


def cusum(values: ArrayLike, *, target: float, allowance: float, interval: float) -> Cusum:
    """Return S⁺ᵢ = max(0, S⁺ᵢ₋₁ + xᵢ - target - k) and S⁻ likewise below.

    allowance (k) and interval (h) are in the unit of the values. Without a loop: a sum that is
    held at 0 is the plain sum less its lowest value so far. Raises InputError for k < 0 or h ≤ 0.
    """
    if allowance < 0 or not interval > 0:
        raise InputError(
            "cusum-parameters",
            f"An allowance of {allowance:g} with a decision interval of {interval:g} signals "
            "nothing sensible.",
            where="cusum",
            fix="Half a standard deviation and four to five of them are usual.",
        )
    away = checked(values, at_least=1, purpose="A cumulative sum", spread=False) - target
    return Cusum(
        high=_held_at_zero(away - allowance),
        low=_held_at_zero(-away - allowance),
        deviations=np.cumsum(away),
        target=target,
        allowance=allowance,
        interval=interval,
    )


def _held_at_zero(steps: Floats) -> Floats:
    total = np.cumsum(steps)
    return total - np.minimum(np.minimum.accumulate(total), 0.0)


def average_run_length(
    *, allowance: float, interval: float, shift: float, nodes: int = 120
) -> float:
    """Return how many points pass on average before either sum signals; all in σ.

    One side from the integral equation on Gauss-Legendre nodes with an atom at 0; both sides from
    1/L = 1/L⁺ + 1/L⁻.
    """
    sides = [_one_side(allowance, interval, sign * shift, nodes) for sign in (1, -1)]
    return 1 / sum(1 / length for length in sides)


def _one_side(allowance: float, interval: float, shift: float, nodes: int) -> float:
    points, areas = np.polynomial.legendre.leggauss(nodes)
    at = np.concatenate([[0.0], interval * (points + 1) / 2])
    arrive = at[1:] - at[:, None] + allowance - shift
    kernel = np.empty((nodes + 1, nodes + 1))
    kernel[:, 0] = normal_area(allowance - shift - at)
    kernel[:, 1:] = interval * areas / 2 * np.exp(-0.5 * arrive**2) / sqrt(2 * np.pi)
    return float(np.linalg.solve(np.eye(nodes + 1) - kernel, np.ones(nodes + 1))[0])
