"""The flash point along a line of compositions: its lowest point and where it crosses levels."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.sweep import Sweep, Swept

Array = NDArray[np.float64]

POINTS: Final = 101
# Each refinement looks at this many points between two neighbours: two of them place a crossing
# to a 400th of the line's step, and the search ends far below what the model knows.
_FINER: Final = 21
_REFINEMENTS: Final = 3
# A minimum counts as below both ends when it is lower than either by this much.
BELOW_ENDS_C: Final = 0.05


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where the flash point passes a level; `rising` as the share of the second end grows."""

    level_c: float
    share: float
    rising: bool


@dataclass(frozen=True, slots=True)
class Line:
    """Flash points from one composition to another.

    `shares` is the declared share of the second end, from 0 to 1; `swept` the points. `minimum`
    is (share, flash point) where the line goes below both ends, else None.
    """

    shares: Array
    swept: Swept
    minimum: tuple[float, float] | None
    crossings: tuple[Crossing, ...]


def line(
    made: Sweep, start: Array, end: Array, *, levels_c: Sequence[float] = (), points: int = POINTS
) -> Line:
    """Solve the line between two declared compositions, shape (liquids,) each, summing to one.

    Where there is no flash point (a blend too rich in water) it counts as above every level.
    """
    shares = np.linspace(0, 1, points)
    swept = made.at(_between(start, end, shares))
    return Line(
        shares=shares,
        swept=swept,
        minimum=_minimum(made, start, end, shares, swept.flash_c),
        crossings=tuple(
            crossing
            for level in levels_c
            for crossing in _crossings(made, (start, end), shares, swept.flash_c, level)
        ),
    )


def _between(start: Array, end: Array, shares: Array) -> Array:
    result: Array = (1 - shares)[:, None] * start + shares[:, None] * end
    return result


def _minimum(
    made: Sweep, start: Array, end: Array, shares: Array, flash_c: Array
) -> tuple[float, float] | None:
    if np.isnan(flash_c).all():
        return None
    ends_c = np.nanmin([flash_c[0], flash_c[-1], np.inf])
    place, finest = int(np.nanargmin(flash_c)), flash_c
    for _ in range(_REFINEMENTS):
        low, high = shares[max(place - 1, 0)], shares[min(place + 1, len(shares) - 1)]
        shares = np.linspace(low, high, _FINER)
        finest = made.at(_between(start, end, shares)).flash_c
        place = int(np.nanargmin(finest))
    lowest_c = float(finest[place])
    return (float(shares[place]), lowest_c) if lowest_c < ends_c - BELOW_ENDS_C else None


def _crossings(
    made: Sweep, ends: tuple[Array, Array], shares: Array, flash_c: Array, level_c: float
) -> list[Crossing]:
    above = _above(flash_c, level_c)
    found = []
    for place in np.flatnonzero(above[1:] != above[:-1]):
        low, high, rising = shares[place], shares[place + 1], bool(above[place + 1])
        for _ in range(_REFINEMENTS):
            finer = np.linspace(low, high, _FINER)
            passed = _above(made.at(_between(*ends, finer)).flash_c, level_c) == rising
            first = max(int(np.argmax(passed)), 1) if passed.any() else len(finer) - 1
            low, high = finer[first - 1], finer[first]
        found.append(Crossing(level_c, float(high if rising else low), rising))
    return found


def _above(flash_c: Array, level_c: float) -> NDArray[np.bool_]:
    """Whether each point is at or above the level; no flash point counts as above."""
    result: NDArray[np.bool_] = np.isnan(flash_c) | (flash_c >= level_c)
    return result
