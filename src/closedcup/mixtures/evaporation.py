"""How composition and flash point move as a blend evaporates from an open vessel: Rayleigh's law.

Each small part that leaves has the composition of the vapour over the liquid at one temperature,
dn_i = −y_i dN, with the same activities as the flash point. Left out: cooling, a skin, unequal
diffusion in air, and the moisture of the room (water then leaves more slowly, or not at all).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError, Refused
from closedcup.mixtures.flash_point import KELVIN
from closedcup.mixtures.pair_parting import some_pair_parts
from closedcup.mixtures.phase_split import unstable_trials
from closedcup.mixtures.sweep import Sweep, Swept
from closedcup.mixtures.vapour_pressure import ln_vapour_pressure

Array = NDArray[np.float64]

# The part of what is left that leaves in one step, and in one step of the most volatile liquid.
STEP: Final = 0.01
LARGEST_FALL: Final = 0.25
MOST_STEPS: Final = 20_000
# What is left in the end is still a blend; beyond this the last drops decide.
MOST_LOST: Final = 0.95


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Blends on the way: `lost` is the share of the mass that has left, one entry per row.

    `mass_fractions` and `swept.mole_fractions` have the shape (rows, liquids).
    """

    temperature_c: float
    lost: Array
    mass_fractions: Array
    swept: Swept


def evaporate(
    made: Sweep, mole_fractions: Array, temperature_c: float, lost: Sequence[float]
) -> Evaporation:
    """Follow one blend, shape (liquids,), until these shares of its mass have left.

    `temperature_c` is that of the liquid. Raises InputError for shares outside 0 to 0.95, Refused
    where the blend is two liquids at that temperature on the way.
    """
    wanted = np.array(sorted(set(lost)))
    if not len(wanted) or wanted[0] < 0 or wanted[-1] > MOST_LOST:
        raise InputError(
            "lost-impossible",
            f"The shares lost must lie between 0 and {MOST_LOST:.0%}.",
            where="lost",
            fix="Give shares such as 5 % or 0.05.",
        )
    moles = _path(made, mole_fractions, temperature_c + KELVIN, wanted)
    masses = moles * np.array([liquid.molar_mass_g_mol for liquid in made.liquids])
    x = moles / moles.sum(axis=1, keepdims=True)
    _refuse_two_liquids(made, x, temperature_c)
    fractions = masses / masses.sum(axis=1, keepdims=True)
    return Evaporation(temperature_c, wanted, fractions, made.at_moles(x))


def _path(made: Sweep, start: Array, temperature_k: float, wanted: Array) -> Array:
    """Return the moles left at each share lost, by midpoint steps in the logarithm of each."""
    at = np.array([temperature_k])
    pressure = np.exp([ln_vapour_pressure(c, at)[0] for c in made.flash_sum.correlations])
    molar_mass = np.array([liquid.molar_mass_g_mol for liquid in made.liquids])

    def volatility(moles: Array) -> Array:
        """Return y_i/x_i."""
        x = moles / moles.sum()
        factor = np.exp(made.flash_sum.model.ln_gamma(x[None, :], at)[0]) * pressure
        result: Array = factor / (x * factor).sum()
        return result

    moles, before = start.copy(), start.copy()
    total, gone, gone_before = float(start @ molar_mass), 0.0, 0.0
    rows = np.empty((len(wanted), len(start)))
    place = 0
    for _ in range(MOST_STEPS):
        while place < len(wanted) and wanted[place] <= gone:
            between = 1.0 if gone == gone_before else (
                (wanted[place] - gone_before) / (gone - gone_before))  # fmt: skip
            rows[place] = before + between * (moles - before)
            place += 1
        if place == len(wanted):
            return rows
        ratio = volatility(moles)
        step = min(STEP, LARGEST_FALL / float(ratio[moles > 0].max()))
        middle = volatility(moles * np.exp(-step / 2 * ratio))
        before, gone_before = moles, gone
        moles = moles * np.exp(-step * middle)
        gone = 1 - float(moles @ molar_mass) / total
    raise Refused(
        "evaporation-too-uneven",
        "The liquids differ so much in volatility that the evaporation cannot be followed.",
        where="components",
        fix="Leave out the most volatile trace, or ask for a smaller loss.",
    )


def _refuse_two_liquids(made: Sweep, x: Array, temperature_c: float) -> None:
    at = np.full(len(x), temperature_c + KELVIN)
    parts = some_pair_parts(made.flash_sum.model, made.liquids, x, at)
    if parts.any() and unstable_trials(made.flash_sum.model, x[parts], at[parts])[0].any():
        raise Refused(
            "evaporates-as-two-liquids",
            f"The blend is two liquids at {temperature_c:g} °C on the way: which of them lies on "
            "top and evaporates is not known.",
            where="components",
            fix="Keep the sample cold and closed, and test it shaken.",
        )
