"""The Anderson-Darling test of normality, with its correction for small samples."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from closedcup.metrology.series import checked

CRITICAL_5_PERCENT: Final = 0.752
"""Of A²*, mean and s estimated (Stephens 1986, table 4.7, memory)."""


@dataclass(frozen=True, slots=True)
class Normality:
    """A², the corrected A²* = A²(1 + 0.75/n + 2.25/n²), and the probability of a larger one."""

    n: int
    statistic: float
    corrected: float
    probability: float

    @property
    def normal(self) -> bool:
        """Whether normality is not rejected at 5 %."""
        return self.corrected <= CRITICAL_5_PERCENT


def anderson_darling(values: ArrayLike, *, sigma: float | None = None) -> Normality:
    """Test whether values come from a normal distribution.

    At least 8 values, not rounded more coarsely than half their standard deviation: the caller
    looks to that. `sigma` other than the sample's s (MR̄/1.128, petroleum practice) makes the
    statistic grow with autocorrelation. Raises Refused for too few or equal values.
    """
    from scipy.special import log_ndtr  # noqa: PLC0415  (loaded when first needed)

    series = np.sort(checked(values, at_least=8, purpose="The Anderson-Darling test"))
    n = series.size
    w = (series - series.mean()) / (series.std(ddof=1) if sigma is None else sigma)
    ranks = 2 * np.arange(1, n + 1) - 1
    statistic = float(-n - np.mean(ranks * (log_ndtr(w) + log_ndtr(-w[::-1]))))
    corrected = statistic * (1 + 0.75 / n + 2.25 / n**2)
    return Normality(n, statistic, corrected, _probability(corrected))


def _probability(a: float) -> float:
    """Return the p-value by the piecewise exponentials of D'Agostino and Stephens (memory)."""
    if a >= 0.6:
        return float(np.exp(1.2937 - 5.709 * a + 0.0186 * a**2))
    if a > 0.34:
        return float(np.exp(0.9177 - 4.279 * a - 1.38 * a**2))
    if a > 0.2:
        return float(1 - np.exp(-8.318 + 42.796 * a - 59.938 * a**2))
    return float(1 - np.exp(-13.436 + 101.14 * a - 223.73 * a**2))
