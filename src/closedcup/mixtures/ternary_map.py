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
_ROUNDS: Final = 14


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


def lowest_flash(made: Sweep, amounts: Array, flash_c: Array) -> tuple[Array, float]:
    """Return the blend with the lowest flash point near the lowest of these, and that flash point.

    For any number of liquids: points around the best so far, in every direction from liquid to
    liquid, with a step that halves. `amounts` has the shape (rows, liquids) and sums to one.
    Returns nan where no row has a flash point.
    """
    if np.isnan(flash_c).all():
        return amounts[0], float("nan")
    place = int(np.nanargmin(flash_c))
    best, best_c = amounts[place], float(flash_c[place])
    count = amounts.shape[1]
    directions = np.array([row for row in (np.eye(count)[:, None] - np.eye(count)).reshape(-1, count)
                           if row.any()])  # fmt: skip
    step = 0.05
    for _ in range(_ROUNDS):
        around = best + step * directions
        around = around[(around >= 0).all(axis=1)]
        found = made.at(around).flash_c if len(around) else np.array([np.nan])
        if np.nanmin([*found, np.inf]) < best_c:
            place = int(np.nanargmin(found))
            best, best_c = around[place], float(found[place])
        else:
            step /= 2
    return best, best_c
