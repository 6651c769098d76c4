"""Mean and standard deviation of results of which some may be far out.

Algorithm A, the Q method and Hampel's estimate as ISO 13528 describes them (memory; formulas of
the Q method not checked against a printed figure).
"""

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import Refused
from closedcup.metrology.quantiles import normal_quantile
from closedcup.metrology.series import checked

Floats = NDArray[np.float64]

PRINTED_CORRECTION: Final = 1.134
"""ISO 13528's rounded factor of the winsorised s; exactly it is 1.133392655…"""
EXACT_CORRECTION: Final = 1.133392655462487
_MOST_PASSES: Final = 2000  # full convergence took 26 to 299 passes on published sets


@dataclass(frozen=True, slots=True)
class RobustEstimate:
    """x* and s*, with the standard uncertainty 1.25 s*/√p of x*."""

    mean: float
    deviation: float
    n: int

    @property
    def uncertainty(self) -> float:
        """Return the standard uncertainty of the mean as an assigned value (ISO 13528)."""
        return 1.25 * self.deviation / sqrt(self.n)


def algorithm_a(values: ArrayLike, *, correction: float = PRINTED_CORRECTION) -> RobustEstimate:
    """Return Algorithm A's mean and standard deviation, iterated until nothing moves.

    Values beyond x* ± 1.5 s* are drawn to that edge, again and again. At least 3 values; Refused
    where more than half are equal, so that the first s* is zero.
    """
    series = checked(values, at_least=3, purpose="A robust mean")
    mean = float(np.median(series))
    deviation = 1.483 * float(np.median(np.abs(series - mean)))
    if deviation == 0:
        raise Refused(
            "no-spread",
            "More than half of the results are equal: Algorithm A finds no standard deviation.",
            where="values",
            fix="Use the Q method, or results before rounding.",
        )
    for _ in range(_MOST_PASSES):
        drawn = np.clip(series, mean - 1.5 * deviation, mean + 1.5 * deviation)
        next_mean, next_deviation = float(drawn.mean()), correction * float(drawn.std(ddof=1))
        moved = abs(next_mean - mean) + abs(next_deviation - deviation)
        mean, deviation = next_mean, next_deviation
        if moved <= 1e-13 * (abs(mean) + deviation):
            return RobustEstimate(mean, deviation, series.size)
    raise Refused(
        "not-converged",
        f"Algorithm A did not settle in {_MOST_PASSES} passes.",
        where="values",
        fix="Use the Q method.",
    )


def q_deviation(values: ArrayLike) -> float:
    """Return the Q method's standard deviation, from the differences of all pairs.

    One result (or mean) for each laboratory. Refused where even that is zero.
    """
    series = checked(values, at_least=3, purpose="The Q method")
    first, second = np.triu_indices(series.size, 1)
    # 3.7 - 3.4 and 3.4 - 3.1 differ in binary; taken as two steps they move s* by a percent.
    differences = np.round(np.abs(series[first] - series[second]), 9)
    steps, counts = np.unique(differences[differences > 0], return_counts=True)
    pairs = differences.size
    at_zero = float((differences == 0).sum()) / pairs
    h = at_zero + np.cumsum(counts) / pairs
    before = np.concatenate([[at_zero], h[:-1]])
    g = 0.5 * (h + before)
    aim = 0.25 + 0.75 * at_zero
    quantile = float(np.interp(aim, np.concatenate([[0.0], g]), np.concatenate([[0.0], steps])))
    return quantile / (sqrt(2) * float(normal_quantile(0.625 + 0.375 * at_zero)))


def hampel_mean(values: ArrayLike, deviation: float) -> float:
    """Return Hampel's mean for a given standard deviation: far results lose all weight.

    ψ rises to 1.5, stays to 3, falls to 0 at 4.5; of its roots the one nearest the median.
    Raises Refused without a spread.
    """
    series = checked(values, at_least=3, purpose="Hampel's mean", spread=False)
    if not deviation > 0:
        raise Refused("no-spread", "Hampel's mean needs a standard deviation.", where="deviation")
    edges = np.array([-4.5, -3, -1.5, 1.5, 3, 4.5]) * deviation
    corners = np.unique((series[:, None] + edges).ravel())
    sums = _psi((series - corners[:, None]) / deviation).sum(axis=1)
    # Between corners the sum is a straight line: a root lies where it changes sign.
    here = np.flatnonzero((sums[:-1] >= 0) & (sums[1:] <= 0) & (sums[:-1] != sums[1:]))
    share = sums[here] / (sums[here] - sums[here + 1])
    roots = corners[here] + share * (corners[here + 1] - corners[here])
    return float(roots[np.abs(roots - np.median(series)).argmin()])


def _psi(q: Floats) -> Floats:
    size = np.abs(q)
    return np.asarray(np.sign(q) * np.clip(np.minimum(size, 4.5 - size), 0.0, 1.5))


def q_and_hampel(values: ArrayLike) -> RobustEstimate:
    """Return the Q method's standard deviation with Hampel's mean."""
    series = np.asarray(values, dtype=np.float64)
    deviation = q_deviation(series)
    return RobustEstimate(hampel_mean(series, deviation), deviation, series.size)


# Rousseeuw and Croux, J. Am. Stat. Assoc. 88 (1993) 1273: consistency for normal results, and
# factors for few of them as R robustbase 0.95 has them (memory; they return its figures).
_QN_FACTOR: Final = 2.21914
_QN_FEW: Final = (
    0.399356, 0.99365, 0.51321, 0.84401, 0.61220, 0.85877, 0.66993, 0.87344, 0.72014, 0.88906,
    0.75743,
)  # fmt: skip
_SN_FACTOR: Final = 1.1926
_SN_FEW: Final = (0.743, 1.851, 0.954, 1.351, 0.993, 1.198, 1.005, 1.131)


def qn_deviation(values: ArrayLike) -> float:
    """Return Qn: a low order statistic of the differences of all pairs, made consistent.

    At least 2 values; 0 where more than about half are equal.
    """
    series = checked(values, at_least=2, purpose="Qn")
    n = series.size
    first, second = np.triu_indices(n, 1)
    h = n // 2 + 1
    place = h * (h - 1) // 2 - 1
    found = _QN_FACTOR * float(np.partition(np.abs(series[first] - series[second]), place)[place])
    if n <= len(_QN_FEW) + 1:
        return found * _QN_FEW[n - 2]
    if n % 2:
        return found / (1 + (1.60188 + (-2.1284 - 5.172 / n) / n) / n)
    return found / (1 + (3.67561 + (1.9654 + (6.987 - 77 / n) / n) / n) / n)


def sn_deviation(values: ArrayLike) -> float:
    """Return Sn: the low median of each value's high median distance to all, made consistent.

    At least 2 values; 0 where more than half are equal.
    """
    series = checked(values, at_least=2, purpose="Sn")
    n = series.size
    distances = np.sort(np.abs(series[:, None] - series), axis=1)
    found = _SN_FACTOR * float(np.sort(distances[:, n // 2])[(n + 1) // 2 - 1])
    if n <= len(_SN_FEW) + 1:
        return found * _SN_FEW[n - 2]
    return found * n / (n - 0.9) if n % 2 else found
