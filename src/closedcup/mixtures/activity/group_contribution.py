"""What every group-contribution model of the UNIFAC family shares, for arrays of compositions.

With Θ the surface fractions of the main groups in the mixture and Θ⁽ⁱ⁾ those in pure liquid i,
S = Θ ψ and q_iK the surface of main group K in one molecule i,

    ln γ_i (residual) = q_i − Σ_K q_iK [ln S_K + Σ_m ψ_Km Θ_m / S_m − ln S_K⁽ⁱ⁾],

because the second sum in the pure liquid adds up to q_i. Groups enter by main group only: the
subgroups of one main group share their interactions. The versions differ in the exponent of the
volumes in the combinatorial part and in how ψ depends on temperature: ψ = exp(−(a/T + b + c T)).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.liquids import Liquid, bibliography, data_file
from closedcup.sources import load_rows

Array = NDArray[np.float64]

_REMEDY = (
    "Ask for another model of activity, for the ideal form (with a wider interval), or measure "
    "without an estimate."
)


@dataclass(frozen=True, slots=True)
class Subgroup:
    """A structural group: the main group whose interactions it shares, its volume and surface."""

    name: str
    main_group: int
    r: float
    q: float


@dataclass(frozen=True, slots=True)
class GroupTable:
    """The published parameters of one version of the model.

    `interactions` maps two main groups to (a in kelvin, b, c per kelvin). `volume_exponent` is 1
    in the original and 3/4 in the modified form.
    """

    title: str
    subgroups: Mapping[int, Subgroup]
    interactions: Mapping[tuple[int, int], tuple[float, float, float]]
    volume_exponent: float


def load_table(title: str, prefix: str, volume_exponent: float) -> GroupTable:
    """Read the subgroups and interactions of one version from the data of this part."""
    subgroups = {
        int(row["subgroup"]): Subgroup(
            row["name"], int(row["main_group"]), float(row["r"]), float(row["q"])
        )
        for row in load_rows(data_file(f"{prefix}_subgroups.csv"), bibliography())
    }
    interactions = {
        (int(row["main_group"]), int(row["with_main_group"])): (
            float(row["a_k"]),
            float(row.get("b", 0.0)),
            float(row.get("c_per_k", 0.0)),
        )
        for row in load_rows(data_file(f"{prefix}_interactions.csv"), bibliography())
    }
    return GroupTable(title, subgroups, interactions, volume_exponent)


class GroupContribution:
    """Activity coefficients from groups, for a fixed tuple of liquids.

    `groups` counts the subgroups of each liquid. Raises Refused where a liquid has no groups, or
    where the interaction of two groups was never published (it is not taken as zero).
    """

    def __init__(
        self, table: GroupTable, liquids: Sequence[Liquid], groups: Sequence[Mapping[int, int]]
    ) -> None:
        self.liquids = tuple(liquids)
        self._table, self._groups = table, tuple(groups)
        self._refuse_without_groups()
        known = table.subgroups
        mains = sorted({known[group].main_group for each in groups for group in each})
        self._r = np.array([sum(n * known[g].r for g, n in each.items()) for each in groups])
        self._q = np.array([sum(n * known[g].q for g, n in each.items()) for each in groups])
        self._surface = np.array(
            [
                [sum(n * known[g].q for g, n in each.items() if known[g].main_group == main)
                 for main in mains]
                for each in groups
            ]
        )  # fmt: skip
        pairs = [[self._interaction(m, n) for n in mains] for m in mains]
        self._a_k, self._b, self._c_per_k = np.moveaxis(np.array(pairs), 2, 0)
        self._several_groups = [self._own_groups(i) for i in range(len(liquids))]

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        x = np.ascontiguousarray(mole_fractions.T)
        return (self._combinatorial(x) + self._residual(x, temperature_k)).T

    def _combinatorial(self, x: Array) -> Array:
        """Return the part from size and shape, with the coordination number 10."""
        volume, surface = self._r @ x, self._q @ x
        exponent = self._table.volume_exponent
        v_over_f = (self._r / self._q)[:, None] * (surface / volume)
        ratio: Array = np.log(v_over_f) + 1.0 - v_over_f
        if exponent == 1.0:
            v = self._r[:, None] / volume
        else:
            powered = self._r**exponent
            v = powered[:, None] / (powered @ x)
        result: Array = np.log(v) + 1.0 - v - 5.0 * self._q[:, None] * ratio
        return result

    def _psi(self, temperature_k: Array) -> Array:
        exponent = self._a_k[:, :, None] * (-1.0 / temperature_k)
        if self._b.any() or self._c_per_k.any():
            exponent -= self._b[:, :, None]
            exponent -= self._c_per_k[:, :, None] * temperature_k
        result: Array = np.exp(exponent, out=exponent)
        return result

    def _residual(self, x: Array, temperature_k: Array) -> Array:
        psi = self._psi(temperature_k)
        theta = (self._surface.T @ x) / (self._q @ x)
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
        pairs = zip(self.liquids, self._groups, strict=True)
        lacking = [liquid.name for liquid, groups in pairs if not groups]
        if lacking:
            raise Refused(
                "activity-parameters-missing",
                f"{self._table.title} has no groups for {' and '.join(lacking)}.",
                where="activity",
                fix=_REMEDY,
            )

    def _interaction(self, main: int, other: int) -> tuple[float, float, float]:
        if main == other:
            return 0.0, 0.0, 0.0
        found = self._table.interactions.get((main, other))
        if found is None:
            holders = [self._holding(group) for group in (main, other)]
            raise Refused(
                "activity-parameters-missing",
                f"{self._table.title} has no published interaction between the groups of "
                f"{holders[0]} and {holders[1]}.",
                where="activity",
                fix=_REMEDY,
            )
        return found

    def _holding(self, main: int) -> str:
        for liquid, groups in zip(self.liquids, self._groups, strict=True):
            for group in groups:
                if self._table.subgroups[group].main_group == main:
                    return f"{liquid.name} ({self._table.subgroups[group].name})"
        raise AssertionError(main)
