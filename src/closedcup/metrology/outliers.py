"""Tests for outliers: a straggler beyond the 5 % value, an outlier beyond the 1 % value.

Critical values are computed from Student's t and Fisher's F, not copied (printed tables have
errors); Dixon's come from a simulated table. None of these tests removes a result: an outlier
leaves a study only with a cause or a recorded decision.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError, Refused
from closedcup.metrology.quantiles import fisher_quantile, student_area, student_quantile
from closedcup.metrology.series import checked
from closedcup.metrology.tables import dixon_critical_values

Floats = NDArray[np.float64]
Side = Literal["either", "high", "low"]


@dataclass(frozen=True, slots=True)
class OutlierTest:
    """A suspect value (`position` from 0) with its statistic and its two critical values."""

    test: str
    position: int
    value: float
    statistic: float
    critical_5: float
    critical_1: float

    @property
    def standing(self) -> str:
        """Return "outlier", "straggler" or "not suspect" (ISO 5725-2's words)."""
        if self.statistic > self.critical_1:
            return "outlier"
        return "straggler" if self.statistic > self.critical_5 else "not suspect"


def grubbs(values: ArrayLike, *, side: Side = "either") -> OutlierTest:
    """Test the value farthest from the mean (or the highest, or the lowest).

    G = |x - mean|/s against ((n - 1)/√n) √(t²/(n - 2 + t²)). One side is tested at the levels of
    ISO 5725-2, which takes the two-sided values for it. At least 3 values with a spread.
    """
    series = checked(values, at_least=3, purpose="Grubbs' test")
    away = (series - series.mean()) / series.std(ddof=1)
    suspected = {"either": np.abs(away), "high": away, "low": -away}[side]
    at = int(suspected.argmax())
    return OutlierTest(
        test="Grubbs",
        position=at,
        value=float(series[at]),
        statistic=float(suspected[at]),
        critical_5=grubbs_critical(series.size, 0.05),
        critical_1=grubbs_critical(series.size, 0.01),
    )


def grubbs_critical(n: int, risk: float, *, one_sided: bool = False) -> float:
    """Return G's critical value; two-sided (ISO 5725-2, E178) unless one-sided is asked for."""
    t = student_quantile(1 - risk / (n if one_sided else 2 * n), n - 2)
    return (n - 1) / sqrt(n) * sqrt(t**2 / (n - 2 + t**2))


def grubbs_probability(statistic: float, n: int) -> float:
    """Return the bound n·P(t > …) on the chance of a larger G on one side."""
    rest = (n - 1) ** 2 - n * statistic**2
    if rest <= 0:
        return 0.0
    t = sqrt(n * (n - 2) * statistic**2 / rest)
    return min(1.0, n * (1 - student_area(t, n - 2)))


def dixon(values: ArrayLike) -> OutlierTest:
    """Test the end value with the larger gap: gap over range (r10), two-sided, n from 3 to 12.

    Raises Refused for more values than are tabulated.
    """
    series = checked(values, at_least=3, purpose="Dixon's test")
    table = dixon_critical_values()
    if series.size not in table:
        raise Refused(
            "too-many-values",
            f"Dixon's gap ratio is tabulated for {min(table)} to {max(table)} values, not "
            f"{series.size}.",
            where="values",
            fix="Use Grubbs' test.",
        )
    order = np.argsort(series)
    ends = series[order]
    low_gap, high_gap = float(ends[1] - ends[0]), float(ends[-1] - ends[-2])
    at = int(order[0] if low_gap > high_gap else order[-1])
    return OutlierTest(
        test="Dixon",
        position=at,
        value=float(series[at]),
        statistic=max(low_gap, high_gap) / float(np.ptp(series)),
        critical_5=table[series.size][0.05],
        critical_1=table[series.size][0.01],
    )


def cochran(variances: ArrayLike, n: int) -> OutlierTest:
    """Test the largest of p variances of n results each: C = s²max/Σs².

    Raises Refused for variances of single results, or all zero.
    """
    within = checked(variances, at_least=2, purpose="Cochran's test", spread=False)
    if n < 2 or within.min() < 0 or within.sum() == 0:
        raise Refused(
            "no-spread",
            "Cochran's test needs variances of two or more results, not all zero.",
            where="variances",
        )
    at = int(within.argmax())
    return OutlierTest(
        test="Cochran",
        position=at,
        value=float(within[at]),
        statistic=float(within[at] / within.sum()),
        critical_5=cochran_critical(within.size, n, 0.05),
        critical_1=cochran_critical(within.size, n, 0.01),
    )


def cochran_critical(p: int, n: int, risk: float) -> float:
    """Return C's critical value for p variances of n results: 1/(1 + (p - 1)/F)."""
    f = fisher_quantile(1 - risk / p, n - 1, (p - 1) * (n - 1))
    return 1 / (1 + (p - 1) / f)


def mandel_h_critical(p: int, risk: float) -> float:
    """Return the two-sided critical h of p laboratories: (p - 1) t/√(p (t² + p - 2))."""
    t = student_quantile(1 - risk / 2, p - 2)
    return (p - 1) * t / sqrt(p * (t**2 + p - 2))


def mandel_k_critical(p: int, n: int, risk: float) -> float:
    """Return the critical k of p laboratories of n results: √(p/(1 + (p - 1)/F))."""
    f = fisher_quantile(1 - risk, n - 1, (p - 1) * (n - 1))
    return sqrt(p / (1 + (p - 1) / f))


@dataclass(frozen=True, slots=True)
class GeneralisedDeviates:
    """Statistics and critical values one by one; the first `count` suspects are outliers."""

    statistics: Floats
    criticals: Floats
    positions: tuple[int, ...]
    count: int


def generalised_deviates(
    values: ArrayLike, *, most: int, risk: float = 0.05
) -> GeneralisedDeviates:
    """Test for up to `most` outliers at once (generalised extreme Studentised deviate).

    At least 15 values for the level to hold (Rosner 1983, memory), and more than `most` + 2.
    """
    series = checked(values, at_least=max(15, most + 3), purpose="The test for several outliers")
    kept = np.ones(series.size, dtype=np.bool_)
    statistics, criticals, positions = [], [], []
    for left in range(series.size, series.size - most, -1):
        chosen = series[kept]
        away = np.where(kept, np.abs(series - chosen.mean()), -1.0)
        at = int(away.argmax())
        statistics.append(float(away[at] / chosen.std(ddof=1)))
        t = student_quantile(1 - risk / (2 * left), left - 2)
        criticals.append((left - 1) * t / sqrt((left - 2 + t**2) * left))
        positions.append(at)
        kept[at] = False
    beyond = np.flatnonzero(np.array(statistics) > np.array(criticals))
    return GeneralisedDeviates(
        np.array(statistics),
        np.array(criticals),
        tuple(positions),
        int(beyond[-1]) + 1 if beyond.size else 0,
    )


def farthest_share(values: ArrayLike, count: int) -> float:
    """Return Tietjen and Moore's E: the sum of squares left without the `count` farthest."""
    series = checked(values, at_least=count + 2, purpose="The test of several outliers")
    return float(_shares(series[None, :], count)[0])


def farthest_share_critical(
    n: int, count: int, risk: float, *, draws: int = 100_000, seed: int = 1
) -> float:
    """Return E's critical value by simulation: a smaller E means outliers.

    Raises InputError for a count that leaves too few values.
    """
    if not 0 < count < n - 1:
        raise InputError("count", f"{count} of {n} values cannot all be outliers.", where="count")
    samples = np.random.default_rng(seed).standard_normal((draws, n))
    return float(np.quantile(_shares(samples, count), risk))


def _shares(samples: Floats, count: int) -> Floats:
    away = np.abs(samples - samples.mean(axis=1, keepdims=True))
    order = np.argsort(away, axis=1)
    kept = np.take_along_axis(samples, order, axis=1)[:, : samples.shape[1] - count]
    return np.asarray(
        kept.var(axis=1) * kept.shape[1] / (samples.var(axis=1) * samples.shape[1]),
        dtype=np.float64,
    )
