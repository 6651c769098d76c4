"""How good the intervals are: scored by leaving out one system of published blends at a time.

The model's width for the system left out is taken from the errors on the other systems alone, so
no system has a say in its own interval. The widths that are shipped were judged after seeing all
systems; they are scored beside it, as a check of the judgement and no more.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures import Basis, Blend, Estimate, blend, estimate, flash_points_c
from closedcup.mixtures.flash_point import make_sum
from closedcup.mixtures.interval import combined_half_width_c, extrapolation_parts
from closedcup.mixtures.monte_carlo import drawn_flash_c, interval_c
from closedcup.mixtures.pure_values import pure_flashes
from closedcup.sources import load_bibliography, load_rows

Array = NDArray[np.float64]

_DATA: Final = files(__package__) / "data"
COVERAGE: Final = 0.95
CONSTANT_C: Final = 5.0
# The errors of other systems, as a mean square, times this make half a 95 % interval; a system's
# errors go together, and there are few systems, so it is Student's factor of their number.
STUDENT_95: Final[Mapping[int, float]] = {2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 6: 2.45}
System = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Scores:
    """Coverage, median half width and mean interval score (less is better), over all points.

    The interval score is the width plus 2/0.05 times what a point lies outside.
    """

    name: str
    coverage: float
    median_half_width_c: float
    interval_score_c: float
    worst_system_coverage: float

    def text(self) -> str:
        """Return a line for a person."""
        return (
            f"{self.name:<38} {self.coverage:7.0%} {self.median_half_width_c:8.1f} °C "
            f"{self.interval_score_c:8.1f} °C {self.worst_system_coverage:9.0%}"
        )


@dataclass(frozen=True, slots=True)
class _Point:
    made: Blend
    published_c: float
    own_error_c: float
    estimate: Estimate


def scores(activity: str = "default") -> tuple[int, int, tuple[Scores, ...]]:
    """Return the numbers of systems and points, and the scores of each kind of interval."""
    systems = _systems(activity)
    middles, shipped, left_out, constant = [], [], [], []
    for system, points in systems.items():
        others = [errors for name, errors in _errors(systems).items() if name != system]
        half_width_c = STUDENT_95[len(others)] * float(
            np.sqrt(np.mean([np.mean(np.square(errors)) for errors in others]))
        )
        for point in points:
            middles.append(point.published_c)
            shipped.append((point.estimate.low_c, point.estimate.high_c))
            left_out.append(_drawn(point, activity, half_width_c))
            at = point.estimate.flash_c
            constant.append((at - CONSTANT_C, at + CONSTANT_C))
    members = np.repeat(np.arange(len(systems)), [len(points) for points in systems.values()])
    published = np.array(middles)
    kinds = {
        "one system left out": left_out,
        "as shipped (judged on all systems)": shipped,
        f"constant ±{CONSTANT_C:g} °C": constant,
    }
    return (
        len(systems),
        len(published),
        tuple(_scored(name, published, ends, members) for name, ends in kinds.items()),
    )


def mean_deviations(activity: str = "default") -> Mapping[str, float]:
    """Return mean absolute deviations in °C of the published points.

    "own" and "consensus" are the binaries of the literature, with the end points of their own
    series and with consensus values; "ethanol and water" is the handbook table by volume, with
    consensus values.
    """
    systems = _systems(activity)
    table = ("ethanol", "water")
    series = [point for name, points in systems.items() if name != table for point in points]

    def off(points: Sequence[_Point]) -> float:
        return float(np.mean([abs(each.estimate.flash_c - each.published_c) for each in points]))

    return {
        "own": float(np.mean([abs(each.own_error_c) for each in series])),
        "consensus": off(series),
        "ethanol and water": off(systems[table]),
    }


def _systems(activity: str) -> Mapping[System, list[_Point]]:
    bibliography = load_bibliography(_DATA / "mixtures_sources.csv")
    found: defaultdict[System, list[_Point]] = defaultdict(list)
    for row in load_rows(_DATA / "blend_flash_points.csv", bibliography):
        names, first = (row["first"], row["second"]), float(row["first_amount"])
        basis: Basis = "volume" if row["basis"] == "volume" else "mole"
        made = blend(zip(names, (first, 1 - first), strict=True), basis=basis)
        published_c = float(row["flash_c"])
        own = [float(row[key] or "nan") for key in ("first_pure_c", "second_pure_c")]
        x = np.array([made.mole_fractions])
        alone = flash_points_c(x, made.liquids, flash_c=own, activity=activity).flash_c[0]
        found[names].append(
            _Point(made, published_c, float(alone) - published_c, estimate(made, activity=activity))
        )
    return found


def _errors(systems: Mapping[System, list[_Point]]) -> Mapping[System, list[float]]:
    return {name: [point.own_error_c for point in points] for name, points in systems.items()}


def _drawn(point: _Point, activity: str, half_width_c: float) -> tuple[float, float]:
    """Draw the interval with this width of the model instead of the shipped one."""
    liquids, flash_c = point.made.liquids, point.estimate.flash_c
    pures = pure_flashes(liquids)
    outside = combined_half_width_c(extrapolation_parts(liquids, pures, flash_c))
    values = drawn_flash_c(
        make_sum(liquids, activity=activity),
        pures,
        np.array(point.made.mole_fractions),
        flash_c,
        added_half_width_c=float(np.hypot(half_width_c, outside)),
    )
    return interval_c(values, COVERAGE)


def _scored(
    name: str, published: Array, ends: Sequence[tuple[float, float]], members: NDArray[np.intp]
) -> Scores:
    low, high = np.array(ends).T
    below, above = np.maximum(low - published, 0), np.maximum(published - high, 0)
    inside = (below + above) == 0
    score = high - low + 2 / (1 - COVERAGE) * (below + above)
    return Scores(
        name=name,
        coverage=float(inside.mean()),
        median_half_width_c=float(np.median((high - low) / 2)),
        interval_score_c=float(score.mean()),
        worst_system_coverage=min(float(inside[members == i].mean()) for i in np.unique(members)),
    )
