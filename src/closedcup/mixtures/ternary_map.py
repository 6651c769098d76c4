"""The flash point over all blends of three liquids: a triangular lattice, its lowest point."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError
from closedcup.mixtures.sweep import Sweep, Swept

Array = NDArray[np.float64]

# A step of one per cent: 5,151 blends.
STEPS: Final = 100
MOST_STEPS: Final = 400
# The search for the lowest point: how far it looks around the best so far, all at once; from a
# twentieth it ends below a hundred-thousandth where nothing lower is found.
_SPANS: Final = 0.5 ** np.arange(7)
_FIRST_STEP, _LAST_STEP, _ROUNDS = 0.05, 1e-5, 8
# Nothing is lower by less than this: on two liquids the flash point is flat but for round-off.
_LOWER_C: Final = 1e-6


@dataclass(frozen=True, slots=True)
class TernaryMap:
    """Flash points on a lattice of `steps` steps a side.

    `amounts` has the shape (points, 3), in the declared basis; `lowest` is the declared blend
    with the lowest flash point found, `lowest_c` its flash point; `below_pures` whether it lies
    below all three liquids.
    """

    steps: int
    amounts: Array
    swept: Swept
    lowest: Array
    lowest_c: float
    below_pures: bool


def lattice(steps: int) -> Array:
    """Return all shares of three liquids in whole steps, shape ((steps+1)(steps+2)/2, 3)."""
    first, second = np.meshgrid(np.arange(steps + 1), np.arange(steps + 1), indexing="ij")
    inside = first + second <= steps
    one, two = first[inside], second[inside]
    result: Array = np.stack([one, two, steps - one - two], axis=1) / steps
    return result


def ternary_map(made: Sweep, *, steps: int = STEPS) -> TernaryMap:
    """Solve the whole triangle; InputError unless there are three liquids and 2 to 400 steps."""
    if len(made.liquids) != 3:
        raise InputError(
            "not-three-liquids",
            f"A map is of three liquids, not {len(made.liquids)}.",
            where="components",
            fix="Name three liquids, or use a line for two.",
        )
    if not 2 <= steps <= MOST_STEPS:
        raise InputError(
            "steps-impossible",
            f"A map of {steps} steps cannot be drawn.",
            where="steps",
            fix=f"Give 2 to {MOST_STEPS}; 100 is one per cent a step.",
        )
    amounts = lattice(steps)
    swept = made.at(amounts)
    lowest, lowest_c = lowest_flash(made, amounts, swept.flash_c)
    pures_c = made.at(np.eye(3)).flash_c
    return TernaryMap(
        steps, amounts, swept, lowest, lowest_c, bool(lowest_c < np.nanmin(pures_c) - 0.05)
    )


def contour(found: TernaryMap, level_c: float) -> Array:
    """Return the line of one flash point as pieces, shape (pieces, 2 ends, 3 shares).

    Each small triangle of the lattice that the level passes gives one straight piece. Triangles
    with a corner without a flash point give none.
    """
    corners = _triangles(found.steps)
    values = found.swept.flash_c[corners] - level_c
    whole = ~np.isnan(values).any(axis=1)
    corners, values = corners[whole], values[whole]
    above = values >= 0
    passed = above.any(axis=1) & ~above.all(axis=1)
    corners, values, above = corners[passed], values[passed], above[passed]
    # The corner that is alone on its side; the level passes the two edges that meet there.
    alone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), above.argmin(axis=1))
    rows = np.arange(len(corners))
    pieces = np.empty((len(corners), 2, 3))
    for end in (0, 1):
        other = (alone + 1 + end) % 3
        here, there = values[rows, alone], values[rows, other]
        weight = (here / (here - there))[:, None]
        start, stop = found.amounts[corners[rows, alone]], found.amounts[corners[rows, other]]
        pieces[:, end] = start + weight * (stop - start)
    return pieces


def _triangles(steps: int) -> NDArray[np.intp]:
    """Return the lattice points at the corners of every small triangle."""
    place = np.full((steps + 2, steps + 2), -1)
    first, second = np.nonzero(np.add.outer(np.arange(steps + 1), np.arange(steps + 1)) <= steps)
    place[first, second] = np.arange(len(first))
    upright = np.stack(
        [place[first, second], place[first + 1, second], place[first, second + 1]], 1
    )
    inverted = np.stack(
        [place[first + 1, second], place[first, second + 1], place[first + 1, second + 1]], 1
    )
    both = np.concatenate([upright, inverted])
    result: NDArray[np.intp] = both[(both >= 0).all(axis=1)]
    return result


def lowest_flash(made: Sweep, amounts: Array, flash_c: Array) -> tuple[Array, float]:
    """Return the blend with the lowest flash point near the lowest of these, and that flash point.

    For any number of liquids: points around the best so far, in every direction from liquid to
    liquid, with steps that shrink. `amounts` has the shape (rows, liquids) and sums to one.
    Returns nan where no row has a flash point.
    """
    if np.isnan(flash_c).all():
        return amounts[0], float("nan")
    place = int(np.nanargmin(flash_c))
    best, best_c = amounts[place], float(flash_c[place])
    count = amounts.shape[1]
    moves = (np.eye(count)[:, None] - np.eye(count)).reshape(-1, count)
    directions = moves[moves.any(axis=1)]
    step = _FIRST_STEP
    for _ in range(_ROUNDS):
        around = best + (step * _SPANS[:, None, None] * directions).reshape(-1, count)
        around = around[(around >= 0).all(axis=1)]
        found = made.at(around).flash_c if len(around) else np.array([np.nan])
        if np.nanmin([*found, np.inf]) < best_c - _LOWER_C:
            place = int(np.nanargmin(found))
            best, best_c = around[place], float(found[place])
        else:
            step *= _SPANS[-1] / 2
            if step < _LAST_STEP:
                break
    return best, best_c
