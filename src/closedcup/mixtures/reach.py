"""What moves one end of an interval and not the other: what is known to err to one side."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.mixtures.blend import Blend
from closedcup.mixtures.interval import Part
from closedcup.mixtures.pseudo_liquids import index_part
from closedcup.mixtures.pure_values import PureFlash
from closedcup.mixtures.tables import cite

# More water than this by mole, and tables of ethanol and water differ: at 5 % by volume (0.984 of
# water) one has 62 °C, another 81 °C; at 10 % (0.967) both have 49 °C.
VERY_DILUTE: Final = 0.97
TABLES_DIFFER_C: Final = 19.0


@dataclass(frozen=True, slots=True)
class Reach:
    """A part of the interval, and by how much it moves the lower and the upper end (°C)."""

    part: Part
    lower_c: float
    upper_c: float


def reaches(blend: Blend, pures: Sequence[PureFlash], flash_c: float) -> list[Reach]:
    """Return what moves one end of a blend's interval."""
    found = []
    indices = index_part(
        blend.liquids, blend.mole_fractions, [pure.flash_c for pure in pures], flash_c
    )
    if indices is not None:
        part, lowest_c, highest_c = indices
        found.append(Reach(part, min(lowest_c - flash_c, 0.0), max(highest_c - flash_c, 0.0)))
    water = math.fsum(
        x for x, pure in zip(blend.mole_fractions, pures, strict=True) if math.isnan(pure.flash_c)
    )
    if water >= VERY_DILUTE:
        part = Part(
            "the very dilute end: published tables differ by this much, upwards",
            TABLES_DIFFER_C,
            f"{cite('ethanol-water-table')}; {cite('gestis-ethanol')}",
            "read",
        )
        found.append(Reach(part, 0.0, TABLES_DIFFER_C))
    return found
