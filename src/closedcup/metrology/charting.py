"""A series of results on a control chart: limits, signals, and what coarse reading allows.

Results are often read to 0.5 or 1 °C. Where that is coarser than half their standard deviation,
moving ranges and the test of normality speak of the rounding and not of the apparatus: then the
standard deviation is estimated from the brackets, and a point signals only where all that was
rounded to it lies beyond.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import gcd

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import Refused
from closedcup.metrology.censored import BracketEstimate, estimate_from_brackets
from closedcup.metrology.control_charts import (
    LEAST_POINTS,
    USUAL_BASE,
    Limits,
    individuals_limits,
    limits_around,
    moving_range_limits,
    moving_ranges,
    subgroup_charts,
)
from closedcup.metrology.cusum import cusum
from closedcup.metrology.ewma import ewma
from closedcup.metrology.normality import Normality, anderson_darling
from closedcup.metrology.run_rules import ZONE_RULES, rule_hits
from closedcup.metrology.series import checked

Floats = NDArray[np.float64]

_NOISE = 1e-9  # decimals in binary: a point exactly on a limit is not beyond it


@dataclass(frozen=True, slots=True)
class Series:
    """Results in order. `half_width`: half the resolution of each; `explained`: with a cause.

    A result with an assigned cause stays on the chart but out of the limits.
    """

    values: Floats
    half_width: Floats
    explained: NDArray[np.bool_]
    base: int

    def in_base(self) -> NDArray[np.bool_]:
        """Return which results the limits rest on."""
        return (np.arange(self.values.size) < self.base) & ~self.explained

    def pick(self, which: NDArray[np.bool_]) -> "Series":
        """Return the chosen results alone, all of them base."""
        chosen = self.values[which]
        return Series(chosen, self.half_width[which], self.explained[which], chosen.size)


@dataclass(frozen=True, slots=True)
class Chart:
    """What is charted, its limits and its signals.

    `values` are compared with `lower` and `upper`. `hits`: rule to positions from 1. `companion`
    is the chart of spread that belongs to it. `estimate` stands where resolution was coarse.
    """

    kind: str
    values: Floats
    limits: Limits
    hits: dict[str, list[int]]
    coarse: bool = False
    estimate: BracketEstimate | None = None
    companion: "Chart | None" = None
    sums: tuple[Floats, Floats] | None = None


def series_of(
    values: ArrayLike,
    *,
    resolution: ArrayLike = 0.0,
    explained: Sequence[bool] | None = None,
    base: int | None = None,
) -> Series:
    """Return results as a series; the base is the first 20, or all where there are fewer.

    Raises Refused for fewer than five results, InputError for one that is not a number.
    """
    array = checked(values, at_least=LEAST_POINTS, purpose="A control chart", spread=False)
    half = np.broadcast_to(np.asarray(resolution, dtype=np.float64) / 2, array.shape)
    causes = np.zeros(array.shape, dtype=np.bool_) if explained is None else np.array(explained)
    return Series(array, half, causes, min(array.size, USUAL_BASE if base is None else base))


def resolution_of(values: Sequence[Decimal]) -> Decimal:
    """Return the largest step of which all values are multiples; 0 where all are the same."""
    if len(set(values)) < 2:
        return Decimal(0)
    digits = max(-int(value.normalize().as_tuple().exponent) for value in values)
    scale = Decimal(10) ** max(digits, 0)
    return Decimal(gcd(*(int(value * scale) for value in values))) / scale


def is_coarse(series: Series) -> bool:
    """Return whether results are read more coarsely than half their standard deviation."""
    base = series.pick(series.in_base())
    resolution = 2 * float(np.median(base.half_width)) if base.values.size else 0.0
    return resolution > 0 and resolution > float(base.values.std(ddof=1)) / 2 + _NOISE


def single_result_limits(series: Series) -> tuple[Limits, BracketEstimate | None]:
    """Return the limits of single results, from brackets where the resolution is coarse."""
    base = series.pick(series.in_base())
    checked(base.values, at_least=LEAST_POINTS, purpose="A base period", spread=False)
    if not is_coarse(series):
        return individuals_limits(base.values), None
    found = estimate_from_brackets(base.values - base.half_width, base.values + base.half_width)
    if found.deviation is None:
        how = "mean ± 3 s, s the largest that the brackets allow (95 %)"
        return limits_around(found.mean, found.deviation_upper, how), found
    return limits_around(found.mean, found.deviation, "mean ± 3 s, s from the brackets"), found


def chart_individuals(
    series: Series, *, rules: Sequence[str] = ZONE_RULES, decided: Limits | None = None
) -> Chart:
    """Return the chart of single results with its moving ranges.

    `decided` replaces the limits of the base period by those that were decided on.
    """
    coarse = is_coarse(series)
    limits, estimate = single_result_limits(series) if decided is None else (decided, None)
    width = series.half_width if coarse else np.zeros_like(series.half_width)
    return Chart(
        kind="individuals",
        values=series.values,
        limits=limits,
        hits=_pattern_hits(series.values, limits, rules, width),
        coarse=coarse,
        estimate=estimate,
        companion=_moving_range_chart(
            series, limits, width, from_base=not coarse and decided is None
        ),
    )


def _pattern_hits(
    values: Floats, limits: Limits, rules: Sequence[str], half_width: Floats
) -> dict[str, list[int]]:
    z = np.round((values - limits.centre) / limits.sigma, 9)
    return rule_hits(z, rules, half_width=half_width / limits.sigma)


def _moving_range_chart(
    series: Series, limits: Limits, half_width: Floats, *, from_base: bool
) -> Chart:
    ranges = moving_ranges(series.values)
    if from_base:
        own = moving_range_limits(series.pick(series.in_base()).values)
    else:
        mean = 1.128 * limits.sigma  # d2 of two results, as printed
        own = Limits(mean, 0.0, 3.27 * mean, mean * 2.27 / 3, "from s: 1.128 s and 3.27 × that")
    certain = np.maximum(ranges - half_width[1:] - half_width[:-1], 0.0)
    # The step back from a result with a cause has that cause too.
    certain[series.explained[:-1]] = 0.0
    hits = _beyond(certain, own, first=2)
    return Chart("moving range", ranges, own, {"moving range": hits} if hits else {})


def _beyond(
    values: Floats, limits: Limits, *, first: int = 1, slack: Floats | float = 0.0
) -> list[int]:
    above = values - slack > limits.upper + _NOISE
    below = values + slack < limits.lower - _NOISE
    return (np.flatnonzero(above | below) + first).tolist()


def chart_ewma(
    series: Series, *, weight: float, start: float | None = None, decided: Limits | None = None
) -> Chart:
    """Return the chart of the moving average; only its limits signal."""
    single, estimate = single_result_limits(series) if decided is None else (decided, None)
    coarse = is_coarse(series)
    average = ewma(
        series.values, centre=single.centre, sigma=single.sigma, weight=weight, start=start
    )
    half = float(average.upper[0]) - single.centre
    limits = Limits(
        single.centre,
        single.centre - half,
        single.centre + half,
        half / 3,
        f"centre ± 3 s √(λ/(2 - λ)), λ = {weight:g}",
    )
    slack = series.half_width if coarse else 0.0
    hits = _beyond(average.values, limits, slack=slack)
    named = {"beyond the limits": hits} if hits else {}
    return Chart("ewma", average.values, limits, named, coarse, estimate)


def chart_cusum(
    series: Series,
    *,
    target: float | None = None,
    allowance: float | None = None,
    interval: float | None = None,
    decided: Limits | None = None,
) -> Chart:
    """Return the chart of cumulative sums; k = s/2 and h = 5 s unless given.

    The charted value is the larger of the two sums, the lower one negative.
    """
    estimate = None
    coarse = is_coarse(series)
    known = target is not None and allowance is not None and interval is not None
    sigma, centre = (np.nan, np.nan) if decided is None else (decided.sigma, decided.centre)
    if decided is None and not known:
        single, estimate = single_result_limits(series)
        sigma, centre = single.sigma, single.centre
    aim = centre if target is None else target
    away = series.values - aim
    if coarse:
        away = np.sign(away) * np.maximum(np.abs(away) - series.half_width, 0.0)
    sums = cusum(
        away,
        target=0.0,
        allowance=sigma / 2 if allowance is None else allowance,
        interval=5 * sigma if interval is None else interval,
    )
    values = np.where(sums.high >= sums.low, sums.high, -sums.low)
    hits = (np.flatnonzero(sums.signals) + 1).tolist()
    words = f"target {aim:g}, k = {sums.allowance:g}, h = {sums.interval:g}"
    limits = Limits(0.0, -sums.interval, sums.interval, sums.interval / 5, words)
    named = {"beyond the limits": hits} if hits else {}
    return Chart("cusum", values, limits, named, coarse, estimate, sums=(sums.high, sums.low))


def chart_subgroups(  # noqa: PLR0913  (each names itself at the call)
    subgroups: ArrayLike,
    *,
    spread: str,
    rules: Sequence[str] = ZONE_RULES,
    base: int | None = None,
    resolution: float = 0.0,
    explained: Sequence[bool] | None = None,
) -> Chart:
    """Return the chart of subgroup means with that of ranges or standard deviations.

    Raises Refused where the resolution is coarser than half the standard deviation within
    subgroups: ranges of such results are steps of the reading.
    """
    both = subgroup_charts(subgroups, spread=spread, base=base, explained=explained)
    n = np.asarray(subgroups).shape[1]
    within = both.mean_limits.sigma * np.sqrt(n)
    if resolution > within / 2 + _NOISE:
        raise Refused(
            "resolution-coarse",
            f"Results are read to {resolution:g}, coarser than half the standard deviation within "
            f"subgroups ({within:.3g}): their spread is that of the reading.",
            where="subgroups",
            fix="Chart the subgroup means as single results.",
        )
    none = np.zeros_like(both.means)
    hits = _beyond(both.spreads, both.spread_limits)
    return Chart(
        kind="means",
        values=both.means,
        limits=both.mean_limits,
        hits=_pattern_hits(both.means, both.mean_limits, rules, none),
        companion=Chart(spread, both.spreads, both.spread_limits, {spread: hits} if hits else {}),
    )


def normality_of(series: Series, *, by_moving_ranges: bool = False) -> Normality | None:
    """Test results without an assigned cause; None where reading is coarse or they are too few.

    `by_moving_ranges` takes s from the mean moving range: then what neighbours have in common
    makes the statistic grow (petroleum practice, memory).
    """
    kept = series.values[~series.explained]
    if is_coarse(series) or kept.size < 8 or np.ptp(kept) == 0:
        return None
    if not by_moving_ranges:
        return anderson_darling(kept)
    return anderson_darling(kept, sigma=individuals_limits(kept).sigma)
