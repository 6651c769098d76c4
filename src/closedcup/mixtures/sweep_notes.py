"""What widens the answers of a sweep, by name: for each row, or for all of them."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.flash_point import KELVIN
from closedcup.mixtures.interval import INERT_RICH
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pseudo_liquids import is_product
from closedcup.mixtures.sweep import Sweep, Swept

THIRD: Final = "a third liquid is possible"
INERT: Final = f"{INERT_RICH:.0%} of water or more: the flash point may lie several degrees higher"


def marks(made: Sweep, swept: Swept) -> list[tuple[str, NDArray[np.bool_]]]:
    """Return each thing that may widen an answer, with the rows that it does widen."""
    x, flash_c = swept.mole_fractions, swept.flash_c
    found = []
    for i, liquid in enumerate(made.liquids):
        correlation, own_k = made.flash_sum.correlations[i], made.flash_sum.flash_k[i]
        if made.flash_sum.flammable[i]:
            low_c, high_c = correlation.low_k - KELVIN, correlation.high_k - KELVIN
            outside = (flash_c < low_c) | (flash_c > high_c) | (not correlation.holds(own_k))
            text = f"vapour pressure of {liquid.name} used outside its range"
            found.append((text, outside & (x[:, i] > 0)))
        melting = liquid.properties.get("melting_c")
        if melting is not None:
            found.append((solid(liquid), (x[:, i] > 0.5) & (flash_c < melting.value)))
        if is_product(liquid):
            found.append((changing(liquid), x[:, i] > 0))
    inert = x[:, ~made.flash_sum.flammable].sum(axis=1)
    return [*found, (INERT, inert >= INERT_RICH), (THIRD, swept.third)]


def notes(made: Sweep, swept: Swept) -> list[tuple[int, str]]:
    """Return the rows whose answer something widens, with all that does."""
    found = marks(made, swept)
    marked = np.array([flags for _, flags in found])
    rows = np.flatnonzero(marked.any(axis=0))
    kinds, place = np.unique(marked[:, rows], axis=1, return_inverse=True)
    words = [
        "; ".join(text for (text, _), flag in zip(found, kind, strict=True) if flag)
        for kind in kinds.T
    ]
    return [(row, words[i]) for row, i in zip(rows.tolist(), place.reshape(-1), strict=True)]


def of_pure(liquid: Liquid, flash_c: float) -> str:
    """Return what widens the flash point of a pure liquid; "" where nothing does."""
    melting = liquid.properties.get("melting_c")
    found = [solid(liquid)] if melting is not None and flash_c < melting.value else []
    return "; ".join([*found, *([changing(liquid)] if is_product(liquid) else [])])


def changing(liquid: Liquid) -> str:
    """Say that a part is a product: its flash point and its first vapours are no constants."""
    return f"{liquid.name} is a product of changing composition: off by tens of degrees"


def solid(liquid: Liquid) -> str:
    """Say that most of a blend may be frozen at its flash point."""
    return f"{liquid.name} may be solid"
