"""Many compositions of the same liquids: what lines, maps, formulations and evaporation stand on.

Compositions are given as they are declared (by mole, mass or volume) and solved together, on two
liquids where they part.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.activity import DEFAULT, PairParameters, activity_model
from closedcup.mixtures.blend import Basis, moles_per_amount
from closedcup.mixtures.flash_point import KELVIN, FlashSum
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_values import correlations_of, pure_flashes
from closedcup.mixtures.two_liquids import solve_with_split

Array = NDArray[np.float64]

# Rows solved together: the work arrays stay small (measured), and a map of one per cent is one.
CHUNK: Final = 6000
NOT_A_TEST: Final = "Calculated, not a test result; it lowers no class by itself."


@dataclass(frozen=True, slots=True)
class Swept:
    """One entry per composition. `flash_c` (corrected scale) is nan where there is none.

    `third` marks compositions that may part into a third liquid but were solved on two.
    """

    mole_fractions: Array
    flash_c: Array
    liquid_phases: NDArray[np.int_]
    no_flash: NDArray[np.str_]
    third: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sweep:
    """Liquids ready to be solved at any composition; `moles` is the moles in a declared amount.

    `pure_warnings` say what must be known of the pure values.
    """

    liquids: tuple[Liquid, ...]
    basis: Basis
    moles: Array
    flash_sum: FlashSum
    pure_warnings: tuple[str, ...] = ()

    def mole_fractions(self, amounts: Array) -> Array:
        """Return mole fractions of declared amounts, shape (rows, liquids); sums need not be 1."""
        moles = np.atleast_2d(amounts) * self.moles
        result: Array = moles / moles.sum(axis=1, keepdims=True)
        return result

    def at(self, amounts: Array) -> Swept:
        """Solve declared amounts, shape (rows, liquids)."""
        return self.at_moles(self.mole_fractions(amounts))

    def at_moles(self, x: Array) -> Swept:
        """Solve mole fractions, shape (rows, liquids), each row summing to one."""
        parts = [
            solve_with_split(self.flash_sum, self.liquids, x[i : i + CHUNK], thorough=False)
            for i in range(0, max(len(x), 1), CHUNK)
        ]
        return Swept(
            x,
            np.concatenate([part.roots.flash_c for part in parts]),
            np.concatenate([part.liquid_phases for part in parts]),
            np.concatenate([part.roots.no_flash for part in parts]),
            np.concatenate([part.third for part in parts]),
        )


def sweep(
    liquids: Sequence[Liquid],
    *,
    basis: Basis = "mole",
    activity: str = DEFAULT,
    parameters: PairParameters | None = None,
    own_flash_c: Mapping[str, float] | None = None,
) -> Sweep:
    """Make liquids ready; see `estimate` for the choices.

    Raises Refused where a liquid masks the flash or is a resin, or a flash point, vapour pressure,
    density (by volume) or activity parameter is missing.
    """
    refuse_resins(liquids)
    pures = pure_flashes(liquids, own_flash_c=own_flash_c)
    return Sweep(
        liquids=tuple(liquids),
        basis=basis,
        moles=np.array([moles_per_amount(liquid, basis) for liquid in liquids]),
        flash_sum=FlashSum(
            model=activity_model(activity, liquids, parameters),
            correlations=correlations_of(liquids),
            flash_k=np.array([pure.flash_c for pure in pures]) + KELVIN,
        ),
        pure_warnings=tuple(pure.warning for pure in pures if pure.warning),
    )


def refuse_resins(liquids: Sequence[Liquid]) -> None:
    """Refuse parts that give off nothing: only one estimate at a time takes them in."""
    if any(liquid.chemical_class == "resin" for liquid in liquids):
        raise Refused(
            "resin-not-followed",
            "A resin or another involatile part is not carried through many blends.",
            where="components",
            fix="Ask for the solvents alone; “closedcup estimate” takes the resin in.",
        )
