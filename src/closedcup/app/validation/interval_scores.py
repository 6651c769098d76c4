"""How good the intervals are: scored by leaving out one series of published blends at a time.

The series left out has no say in the model chosen for it, in the model's width, or in the pure
flash points (none of the series has one in those). What ships is scored beside it; there every
series had a say.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.validation.model_errors import chosen_model, model_errors
from closedcup.app.validation.published_blends import Point, Series, all_series
from closedcup.mixtures import estimate
from closedcup.mixtures.flash_point import make_sum
from closedcup.mixtures.interval import combined_half_width_c, extrapolation_parts
from closedcup.mixtures.model_spread import other_models, spread_c
from closedcup.mixtures.monte_carlo import drawn_flash_c, interval_c
from closedcup.mixtures.pure_values import pure_flashes
from closedcup.mixtures.two_liquids import solve_with_split

Array = NDArray[np.float64]

System = tuple[str, str]

COVERAGE: Final = 0.95
CONSTANT_C: Final = 5.0
ETHANOL_WATER: Final = ("ethanol", "water")
LEFT_OUT, SHIPPED = "one series left out", "as shipped (every series had a say)"
CONSTANT = f"constant ±{CONSTANT_C:g} °C, one series left out"


@dataclass(frozen=True, slots=True)
class Predicted:
    """A predicted flash point and its interval, beside the published one (all °C)."""

    flash_c: float
    low_c: float
    high_c: float
    published_c: float

    @property
    def off_c(self) -> float:
        """How far the prediction lies off."""
        return abs(self.flash_c - self.published_c)


@dataclass(frozen=True, slots=True)
class Scores:
    """Coverage, median half width and mean interval score (less is better), over all points.

    The interval score is the width plus 2/0.05 times what a point lies outside.
    """

    name: str
    coverage: float
    median_half_width_c: float
    interval_score_c: float

    def text(self) -> str:
        """Return a line for a person."""
        return (
            f"{self.name:<38} {self.coverage:7.0%} {self.median_half_width_c:8.1f} °C "
            f"{self.interval_score_c:8.1f} °C"
        )


@cache
def left_out(activity: str = "default") -> Mapping[System, tuple[Predicted, ...]]:
    """Predict each series from what the others say; a fixed model keeps only its width open."""
    return {names: _from_others(series, activity) for names, series in all_series().items()}


@cache
def shipped(activity: str = "default") -> Mapping[System, tuple[Predicted, ...]]:
    """Predict each series as `closedcup estimate` does, with strict pure values."""
    return {
        names: tuple(_as_shipped(point, activity) for point in series.points)
        for names, series in all_series().items()
    }


def sets_of_series() -> Mapping[str, tuple[System, ...]]:
    """Return which series are scored together: plain ones, those with explained pure values, all.

    A doubtful series is only in the last.
    """
    series = all_series().items()
    return {
        "without explained ones": tuple(n for n, each in series if not each.explanation),
        "without doubtful ones": tuple(n for n, each in series if not each.doubtful),
        "all": tuple(n for n, _ in series),
    }


def scores(activity: str, chosen: Sequence[System]) -> tuple[Scores, ...]:
    """Score the intervals of some series."""
    strict, as_shipped = (
        [point for names in chosen for point in found[names]]
        for found in (left_out(activity), shipped(activity))
    )
    constant = [
        Predicted(p.flash_c, p.flash_c - CONSTANT_C, p.flash_c + CONSTANT_C, p.published_c)
        for p in strict
    ]
    kinds = {LEFT_OUT: strict, CONSTANT: constant, SHIPPED: as_shipped}
    return tuple(_scored(name, points) for name, points in kinds.items())


def mean_deviations(activity: str = "default") -> Mapping[str, float]:
    """Return mean absolute deviations in °C of the published points, doubtful series apart.

    "own": with the end points of their own series; "consensus": each series left out of every
    choice; "explained": the same with the series that `blend_systems.csv` explains; both without
    ethanol and water, which "ethanol and water" holds with the default model, by volume.
    """
    trusted = {
        names: series
        for names, series in all_series().items()
        if names != ETHANOL_WATER and not series.doubtful
    }
    own = [
        error
        for series in trusted.values()
        for error in series.errors_c(_model(list(trusted.values()), series, activity))
    ]
    strict = left_out(activity)
    plain = [p for n, series in trusted.items() if not series.explanation for p in strict[n]]
    every = [p for names in trusted for p in strict[names]]
    by_volume = [
        predicted
        for point, predicted in zip(
            all_series()[ETHANOL_WATER].points, shipped(activity)[ETHANOL_WATER], strict=True
        )
        if point.made.basis == "volume"
    ]
    return {
        "own": float(np.mean(np.abs(own))),
        "consensus": mean_off_c(plain),
        "explained": mean_off_c(every),
        "ethanol and water": mean_off_c(by_volume),
    }


def mean_off_c(points: Sequence[Predicted]) -> float:
    """Return the mean absolute deviation."""
    return float(np.mean([point.off_c for point in points]))


def _model(others: Sequence[Series], series: Series, activity: str) -> str:
    if activity != "default":
        return activity
    return chosen_model(others, aqueous=series.is_aqueous)


def _from_others(series: Series, activity: str) -> tuple[Predicted, ...]:
    others = [each for names, each in all_series().items() if names != series.names]
    model = _model(others, series, activity)
    width_c = {each.family: each.half_width_c for each in model_errors(others, model)}
    return tuple(_predicted(point, model, width_c[point.family]) for point in series.points)


def _predicted(point: Point, model: str, width_c: float) -> Predicted:
    """Predict a point with this width of the model, as `estimate` does with the shipped one."""
    liquids, x = point.made.liquids, np.array(point.made.mole_fractions)
    pures = pure_flashes(liquids)
    ready = make_sum(liquids, activity=model, flash_c=[pure.flash_c for pure in pures])
    solved = solve_with_split(ready, liquids, x[None, :])
    flash_c = float(solved.roots.flash_c[0])
    spread = spread_c(other_models(ready, liquids, x), flash_c)
    outside = combined_half_width_c(extrapolation_parts(liquids, pures, flash_c))
    added_c = float(np.hypot(max(width_c, spread), outside))
    drawn = drawn_flash_c(ready, pures, solved.composition[0], flash_c, added_half_width_c=added_c)
    return Predicted(flash_c, *interval_c(drawn, COVERAGE), point.flash_c)


def _as_shipped(point: Point, activity: str) -> Predicted:
    found = estimate(point.made, activity=activity)
    return Predicted(found.flash_c, found.low_c, found.high_c, point.flash_c)


def _scored(name: str, points: Sequence[Predicted]) -> Scores:
    low, high, published = (
        np.array([getattr(point, key) for point in points])
        for key in ("low_c", "high_c", "published_c")
    )
    outside = np.maximum(low - published, 0) + np.maximum(published - high, 0)
    return Scores(
        name=name,
        coverage=float(np.mean(outside == 0)),
        median_half_width_c=float(np.median((high - low) / 2)),
        interval_score_c=float(np.mean(high - low + 2 / (1 - COVERAGE) * outside)),
    )
