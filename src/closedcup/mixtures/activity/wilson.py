"""Wilson's equation (J. Am. Chem. Soc. 86 (1964) 127, memory) with parameters of the user.

It cannot part a liquid into two: where a blend may part, use another model.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity.pair_parameters import PairParameters
from closedcup.mixtures.liquids import Liquid
from closedcup.sources import Known

Array = NDArray[np.float64]


class Wilson:
    """Wilson's equation: ln Λ_ij = a_ij + b_ij/T, the ratio of molar volumes inside a_ij."""

    name = "wilson"
    known: Known = "user"

    def __init__(self, liquids: Sequence[Liquid], parameters: PairParameters) -> None:
        self.liquids, self.source = tuple(liquids), parameters.source
        self._a, self._b_k = parameters.matrices(liquids)

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        x = mole_fractions.T
        factor = np.exp(self._a[:, :, None] + self._b_k[:, :, None] / temperature_k)
        s = np.einsum("ijn,jn->in", factor, x)
        result: Array = 1.0 - np.log(s) - np.einsum("kin,kn->in", factor, x / s)
        return result.T
