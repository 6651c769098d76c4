"""A site's own precision beside the method's: r′ tested against r, R′/R as a ratio only."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from closedcup.metrology.quantiles import chi_square_quantile

_TWO_RESULTS = 2.772  # 1.96 √2: the 95 % difference of two results, in standard deviations


@dataclass(frozen=True, slots=True)
class SiteRepeatability:
    """r′/r from repeats, and the ratio above which r′ is worse than r (95 %)."""

    ratio: float
    critical_ratio: float
    degrees_of_freedom: int

    @property
    def no_worse(self) -> bool:
        """Whether the site repeats as well as the method says that laboratories do."""
        return self.ratio <= self.critical_ratio


def site_repeatability(repeats: Sequence[Sequence[float]]) -> SiteRepeatability | None:
    """Pool repeats, in units of the method's r, and test their scatter by chi-square.

    None where no figure has two results behind it.
    """
    groups = [np.asarray(group, dtype=np.float64) for group in repeats if len(group) > 1]
    if not groups:
        return None
    freedom = sum(group.size - 1 for group in groups)
    squares = sum(float(((group - group.mean()) ** 2).sum()) for group in groups)
    return SiteRepeatability(
        ratio=_TWO_RESULTS * sqrt(squares / freedom),
        critical_ratio=sqrt(chi_square_quantile(0.95, freedom) / freedom),
        degrees_of_freedom=freedom,
    )


def site_to_method_ratio(sigma: float, reproducibility: float) -> float:
    """Return R′/R: 2.772 × the standard deviation on the chart over the method's R.

    No test: R holds what differs between laboratories, R′ does not.
    """
    return _TWO_RESULTS * sigma / reproducibility
