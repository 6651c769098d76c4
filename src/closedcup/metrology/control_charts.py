"""Charts of single results and of subgroups: centre and limits from a base period.

Limits are three standard deviations of what is charted. The standard deviation of single results
comes from the mean moving range of two over d2 = 1.128, and the moving range's own limit is 3.27
times its mean: the factors as charts print them (ISO 7870-2 and petroleum practice, memory), not
the exact 2/√π = 1.128379 and 3.266. Factors for subgroups come from data/chart_constants.csv.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError
from closedcup.metrology.series import checked
from closedcup.metrology.tables import chart_constants

Floats = NDArray[np.float64]

D2_OF_TWO = 1.128  # as printed; see above
_D4_OF_TWO = 3.27  # as printed; see above
LEAST_POINTS = 5
"""Fewer give limits so loose that nothing would ever be seen (common practice)."""
USUAL_BASE = 20
"""Results after which limits are no longer provisional (petroleum practice, memory; earlier 15)."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Centre and limits of a chart; sigma is the standard deviation of what is charted."""

    centre: float
    lower: float
    upper: float
    sigma: float
    how: str


def moving_ranges(values: ArrayLike) -> Floats:
    """Return the differences of neighbours without their sign (one fewer than the values)."""
    return np.abs(np.diff(np.asarray(values, dtype=np.float64)))


def individuals_limits(base: ArrayLike) -> Limits:
    """Return mean ± 3 MR̄/1.128 of the base period's single results.

    Raises Refused for fewer than five values or values without a spread.
    """
    values = checked(base, at_least=LEAST_POINTS, purpose="A chart of single results")
    sigma = float(moving_ranges(values).mean()) / D2_OF_TWO
    return limits_around(float(values.mean()), sigma, "mean ± 3 × mean moving range / 1.128")


def limits_around(centre: float, sigma: float, how: str, *, width: float = 3.0) -> Limits:
    """Return centre ± width × sigma. Raises InputError where sigma is not positive."""
    if not sigma > 0:
        raise InputError(
            "sigma-not-positive",
            f"A standard deviation of {sigma:g} makes no limits.",
            where="sigma",
            fix="Give a positive one.",
        )
    return Limits(centre, centre - width * sigma, centre + width * sigma, sigma, how)


def moving_range_limits(base: ArrayLike) -> Limits:
    """Return the limits of the moving range of two: from 0 to 3.27 MR̄."""
    values = checked(base, at_least=LEAST_POINTS, purpose="A chart of moving ranges")
    mean = float(moving_ranges(values).mean())
    return Limits(mean, 0.0, _D4_OF_TWO * mean, mean * (_D4_OF_TWO - 1) / 3, "3.27 × mean")


@dataclass(frozen=True, slots=True)
class SubgroupCharts:
    """The chart of means and the chart of their spread (range R or standard deviation s)."""

    means: Floats
    spreads: Floats
    mean_limits: Limits
    spread_limits: Limits


def subgroup_charts(
    subgroups: ArrayLike,
    *,
    spread: str,
    base: int | None = None,
    explained: Sequence[bool] | None = None,
) -> SubgroupCharts:
    """Return the X̄ and R charts (spread "range") or X̄ and S charts (spread "deviation").

    subgroups: shape (groups, n), 2 to 25 results in each. `base` is how many groups the limits
    rest on, all unless given; those with an assigned cause (`explained`) stay out. Raises
    InputError for another spread or unequal subgroups, Refused for fewer than two groups or
    subgroups without a spread.
    """
    table = np.asarray(subgroups, dtype=np.float64)
    if table.ndim != 2:
        raise InputError(
            "subgroups-unequal",
            "Subgroups must have equal numbers of results.",
            where="subgroups",
            fix="Give the same number of results in each, or chart their means.",
        )
    if spread not in {"range", "deviation"}:
        raise InputError(
            "spread-unknown",
            f"There is no spread “{spread}”.",
            where="spread",
            fix="range, deviation",
        )
    checked(table, at_least=4, purpose="A chart of subgroups")
    factors = chart_constants(table.shape[1])
    means = table.mean(axis=1)
    by_range = spread == "range"
    spreads = np.ptp(table, axis=1) if by_range else table.std(axis=1, ddof=1)
    used = np.ones(means.size, dtype=np.bool_) if explained is None else ~np.array(explained)
    used &= np.arange(means.size) < (means.size if base is None else base)
    mean_spread = float(checked(spreads[used], at_least=2, purpose="A chart", spread=False).mean())
    a, low, high = (
        (factors.a2, factors.big_d3, factors.big_d4)
        if by_range
        else (factors.a3, factors.b3, factors.b4)
    )
    centre = float(means[used].mean())
    sign = "R̄" if by_range else "S̄"
    return SubgroupCharts(
        means=means,
        spreads=spreads,
        mean_limits=limits_around(
            centre, a * mean_spread / 3, f"mean ± {'A2' if by_range else 'A3'} {sign}"
        ),
        spread_limits=Limits(
            mean_spread,
            low * mean_spread,
            high * mean_spread,
            (high - 1) * mean_spread / 3,
            f"{'D3, D4' if by_range else 'B3, B4'} × {sign}",
        ),
    )


@dataclass(frozen=True, slots=True)
class CheckStandard:
    """Within-day and between-day standard deviations of a check standard, with their limits."""

    within: float
    between_days: float
    centre: float
    lower: float
    upper: float
    within_limit: float


def check_standard(
    means: ArrayLike,
    within_deviations: ArrayLike,
    within_degrees_of_freedom: int,
    *,
    width: float,
    fisher: float,
) -> CheckStandard:
    """Return the limits of a check standard measured on many days.

    `fisher` is the F quantile that one day's standard deviation is compared with (its limit is
    √F × pooled s); `width` multiplies the standard deviation of the daily means.
    Raises InputError without degrees of freedom.
    """
    days = checked(means, at_least=LEAST_POINTS, purpose="A check standard")
    within = np.asarray(within_deviations, dtype=np.float64)
    if within_degrees_of_freedom < 1 or within.size == 0:
        raise InputError("degrees-of-freedom", "A spread needs degrees of freedom.", where="spread")
    pooled = sqrt(float(np.mean(within**2)))
    between = float(days.std(ddof=1))
    centre = float(days.mean())
    return CheckStandard(
        within=pooled,
        between_days=between,
        centre=centre,
        lower=centre - width * between,
        upper=centre + width * between,
        within_limit=sqrt(fisher) * pooled,
    )
