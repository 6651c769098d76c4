"""NRTL (Renon and Prausnitz, AIChE J. 14 (1968) 135, memory) with parameters of the user."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity.pair_parameters import PairParameters
from closedcup.mixtures.liquids import Liquid
from closedcup.sources import Known

Array = NDArray[np.float64]


class Nrtl:
    """The NRTL equation: τ_ij = a_ij + b_ij/T, G_ij = exp(−α_ij τ_ij)."""

    name = "nrtl"
    known: Known = "user"

    def __init__(self, liquids: Sequence[Liquid], parameters: PairParameters) -> None:
        self.liquids, self.source = tuple(liquids), parameters.source
        self._a, self._b_k = parameters.matrices(liquids)
        self._alpha = parameters.alpha_matrix(liquids)

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        x = mole_fractions.T
        tau = self._a[:, :, None] + self._b_k[:, :, None] / temperature_k
        g = np.exp(-self._alpha[:, :, None] * tau)
        s = np.einsum("kn,kjn->jn", x, g)
        mean = np.einsum("kn,kjn->jn", x, tau * g) / s
        result: Array = mean + np.einsum("ijn,jn->in", g * (tau - mean), x / s)
        return result.T
