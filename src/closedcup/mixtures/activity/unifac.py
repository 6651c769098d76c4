"""The original UNIFAC model of activity coefficients, for arrays of compositions and temperatures.

Fredenslund, Jones and Prausnitz, AIChE J. 21 (1975) 1086, with the published group interactions
up to 2003. Derivation used here: with Θ the surface fractions of the main groups in the mixture
and Θ⁽ⁱ⁾ those in pure liquid i, S = Θ ψ and q_iK the surface of main group K in one molecule i,

    ln γ_i (residual) = q_i − Σ_K q_iK [ln S_K + Σ_m ψ_Km Θ_m / S_m − ln S_K⁽ⁱ⁾],

because the second sum in the pure liquid adds up to q_i. Groups enter by main group only: the
subgroups of one main group share their interactions.
"""

from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.liquids import Liquid, bibliography, data_file
from closedcup.sources import load_rows

Array = NDArray[np.float64]

_REMEDY = "Ask for the ideal form (with a wider interval), or measure without an estimate."


@cache
def _subgroups() -> Mapping[int, tuple[str, int, float, float]]:
    rows = load_rows(data_file("unifac_subgroups.csv"), bibliography())
    return {
        int(row["subgroup"]): (
            row["name"],
            int(row["main_group"]),
            float(row["r"]),
            float(row["q"]),
        )
        for row in rows
    }


@cache
def _interactions() -> Mapping[tuple[int, int], float]:
    rows = load_rows(data_file("unifac_interactions.csv"), bibliography())
    return {(int(r["main_group"]), int(r["with_main_group"])): float(r["a_k"]) for r in rows}


class Unifac:
    """Original UNIFAC for a fixed tuple of liquids.

    Validity: vapour–liquid equilibrium, roughly 290 to 420 K and low pressure; it is a poor guide
    to mutual solubilities. Raises Refused where a liquid has no groups, or where the interaction
    of two groups was never published (it is not taken as zero).
    """

    name = "unifac"
    source = "unifac-original"

    def __init__(self, liquids: Sequence[Liquid]) -> None:
        self.liquids = tuple(liquids)
        self._refuse_without_groups()
        mains = sorted({_subgroups()[group][1] for liquid in liquids for group in liquid.subgroups})
        self._r = np.array([_total(liquid, 2) for liquid in liquids])
        self._q = np.array([_total(liquid, 3) for liquid in liquids])
        self._surface = np.array([[_surface(liquid, main) for main in mains] for liquid in liquids])
        self._a_k = np.array([[self._interaction(m, n) for n in mains] for m in mains])
        self._several_groups = [self._own_groups(i) for i in range(len(liquids))]

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        x = np.ascontiguousarray(mole_fractions.T)
        volume, surface = self._r @ x, self._q @ x
        return (self._combinatorial(volume, surface) + self._residual(x, surface, temperature_k)).T

    def _combinatorial(self, volume: Array, surface: Array) -> Array:
        """Return the part from size and shape, with the coordination number 10."""
        v = self._r[:, None] / volume
        v_over_f = (self._r / self._q)[:, None] * (surface / volume)
        ratio: Array = np.log(v_over_f) + 1.0 - v_over_f
        result: Array = np.log(v) + 1.0 - v - 5.0 * self._q[:, None] * ratio
        return result

    def _residual(self, x: Array, surface: Array, temperature_k: Array) -> Array:
        psi = np.exp(self._a_k[:, :, None] * (-1.0 / temperature_k))
        theta = (self._surface.T @ x) / surface
        sums = np.einsum("mn,mkn->kn", theta, psi)
        mixture = np.log(sums) + np.einsum("kmn,mn->kn", psi, theta / sums)
        result: Array = self._q[:, None] - self._surface @ mixture
        for i, (among_own, share, own_surface) in enumerate(self._several_groups):
            if len(share) > 1:
                pure = np.einsum("m,mkn->kn", share, psi[among_own])
                result[i] += own_surface @ np.log(pure)
        return result

    def _own_groups(self, i: int) -> tuple[tuple[NDArray[np.intp], ...], Array, Array]:
        """Return where a pure liquid's interactions stand, its surface shares and its surfaces.

        In a liquid of one main group the residual part of the pure liquid is nil.
        """
        groups = np.flatnonzero(self._surface[i])
        own = self._surface[i, groups]
        return np.ix_(groups, groups), own / self._q[i], own

    def _refuse_without_groups(self) -> None:
        lacking = [liquid.name for liquid in self.liquids if not liquid.subgroups]
        if lacking:
            raise Refused(
                "activity-parameters-missing",
                f"UNIFAC has no groups for {' and '.join(lacking)}.",
                where="activity",
                fix=_REMEDY,
            )

    def _interaction(self, main: int, other: int) -> float:
        if main == other:
            return 0.0
        found = _interactions().get((main, other))
        if found is None:
            raise self._missing_interaction(main, other)
        return found

    def _missing_interaction(self, main: int, other: int) -> Refused:
        holders = [self._holding(group) for group in (main, other)]
        return Refused(
            "activity-parameters-missing",
            "UNIFAC has no published interaction between the groups of "
            f"{holders[0]} and {holders[1]}.",
            where="activity",
            fix=_REMEDY,
        )

    def _holding(self, main: int) -> str:
        table = _subgroups()
        for liquid in self.liquids:
            for group in liquid.subgroups:
                if table[group][1] == main:
                    return f"{liquid.name} ({table[group][0]})"
        raise AssertionError(main)


def _total(liquid: Liquid, column: int) -> float:
    table = _subgroups()
    return sum(count * float(table[group][column]) for group, count in liquid.subgroups.items())


def _surface(liquid: Liquid, main: int) -> float:
    """Return the surface of one main group in one molecule."""
    table = _subgroups()
    return sum(
        n * table[group][3] for group, n in liquid.subgroups.items() if table[group][1] == main
    )
