"""Raoult's law: every activity coefficient is one. Only when asked for; see `interval`."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.liquids import Liquid
from closedcup.sources import Known

Array = NDArray[np.float64]


class Ideal:
    """The ideal liquid."""

    name = "ideal"
    source = "raoult"
    known: Known = "memory"

    def __init__(self, liquids: Sequence[Liquid]) -> None:
        self.liquids = tuple(liquids)

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:  # noqa: ARG002 - every model takes it
        """Return zeros of the shape of the compositions."""
        return np.zeros_like(mole_fractions)
