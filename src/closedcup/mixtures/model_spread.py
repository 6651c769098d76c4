"""What other models of activity say of the same blend: a hint of how far any one may be trusted.

The models share much of their data, so a small spread proves nothing; a large one does.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.activity import activity_model
from closedcup.mixtures.flash_point import FlashSum
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.two_liquids import solve_with_split

Array = NDArray[np.float64]

COMPARED: Final = ("unifac", "dortmund")


@dataclass(frozen=True, slots=True)
class OtherModel:
    """The flash point by another model; None with the reason where it has none."""

    activity: str
    flash_c: float | None
    reason: str = ""

    def as_json(self) -> dict[str, object]:
        """Return the entry of `other_models`."""
        flash_c = None if self.flash_c is None else round(self.flash_c, 3)
        return {"activity": self.activity, "flash_point_c": flash_c, "reason": self.reason}


def other_models(
    flash_sum: FlashSum, liquids: Sequence[Liquid], mole_fractions: Array
) -> tuple[OtherModel, ...]:
    """Solve one blend, shape (liquids,), with every other group-contribution model."""
    if len(liquids) == 1:
        return ()
    names = [name for name in COMPARED if name != flash_sum.model.name]
    return tuple(_by(name, flash_sum, liquids, mole_fractions) for name in names)


def spread_c(others: Sequence[OtherModel], flash_c: float) -> float:
    """Return how far the furthest of the other models lies off."""
    return max(
        (abs(other.flash_c - flash_c) for other in others if other.flash_c is not None), default=0.0
    )


def _by(name: str, flash_sum: FlashSum, liquids: Sequence[Liquid], x: Array) -> OtherModel:
    try:
        model = activity_model(name, liquids)
    except Refused as refused:
        return OtherModel(name, None, refused.what)
    solved = solve_with_split(replace(flash_sum, model=model), liquids, x[None, :]).roots
    flash_c = float(solved.flash_c[0])
    if math.isnan(flash_c):
        return OtherModel(name, None, str(solved.no_flash[0]))
    return OtherModel(name, flash_c)
