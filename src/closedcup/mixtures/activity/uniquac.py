"""UNIQUAC (Abrams and Prausnitz, AIChE J. 21 (1975) 116, memory) with parameters of the user."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.activity.pair_parameters import PairParameters
from closedcup.mixtures.activity.unifac import table
from closedcup.mixtures.liquids import Liquid
from closedcup.sources import Known

Array = NDArray[np.float64]


class Uniquac:
    """The UNIQUAC equation: ln τ_ij = a_ij + b_ij/T; sizes given, else from UNIFAC's groups."""

    name = "uniquac"
    known: Known = "user"

    def __init__(self, liquids: Sequence[Liquid], parameters: PairParameters) -> None:
        self.liquids, self.source = tuple(liquids), parameters.source
        self._a, self._b_k = parameters.matrices(liquids)
        self._r, self._q = np.array([_sizes(liquid, parameters) for liquid in liquids]).T

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        x = mole_fractions.T
        volume, surface = self._r @ x, self._q @ x
        v = self._r[:, None] / volume
        v_over_f = (self._r / self._q)[:, None] * (surface / volume)
        shape = np.log(v_over_f) + 1.0 - v_over_f
        combinatorial = np.log(v) + 1.0 - v - 5.0 * self._q[:, None] * shape
        theta = self._q[:, None] * x / surface
        tau = np.exp(self._a[:, :, None] + self._b_k[:, :, None] / temperature_k)
        s = np.einsum("kn,kjn->jn", theta, tau)
        among = np.einsum("ijn,jn->in", tau, theta / s)
        result: Array = combinatorial + self._q[:, None] * (1.0 - np.log(s) - among)
        return result.T


def _sizes(liquid: Liquid, parameters: PairParameters) -> tuple[float, float]:
    if liquid.cas in parameters.sizes:
        return parameters.sizes[liquid.cas]
    if not liquid.subgroups:
        raise Refused(
            "activity-parameters-missing",
            f"UNIQUAC needs r and q of {liquid.name}: it has no groups to take them from.",
            where="parameters",
            fix="Add a [[liquid]] entry with its name, r and q to the file.",
        )
    groups = [(table().subgroups[group], n) for group, n in liquid.subgroups.items()]
    return sum(n * group.r for group, n in groups), sum(n * group.q for group, n in groups)
