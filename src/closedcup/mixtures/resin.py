"""What a resin does to the solvents in it: it gives off nothing, and holds their vapour down.

By Flory and Huggins a solvent with the volume fraction 1 − φ in a polymer with φ has the activity
(1 − φ) exp(φ (1 − V/V_resin) + χ φ²); several solvents have among themselves the activities of the
mixture without the resin, times this one factor. Their sum must then reach one over the factor, so
each pure flash point is moved to where the vapour pressure is that much higher.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from closedcup.errors import Refused
from closedcup.mixtures.blend import Blend
from closedcup.mixtures.flash_point import KELVIN
from closedcup.mixtures.interval import Part
from closedcup.mixtures.pure_estimates import temperature_k
from closedcup.mixtures.pure_values import PureFlash
from closedcup.mixtures.tables import cite
from closedcup.mixtures.vapour_pressure import Correlation, ln_vapour_pressure

# Interaction of a resin with a solvent that dissolves it, with half of a 95 % interval; resins of
# coatings (our judgement: 0.1 for a very good solvent, 0.5 at the edge of solubility).
INTERACTION, INTERACTION_OFF = 0.4, 0.3
# A resin's density lies from 950 to 1,250 kg/m³, its molar mass from 500 g/mol upwards.
DENSITIES_KG_M3: Final = (950.0, 1250.0)
MOLAR_MASSES_G_MOL: Final = (500.0, 100_000.0)


@dataclass(frozen=True, slots=True)
class ResinEffect:
    """Pure flash points as the resin moves them, what it adds to the interval, and why."""

    pures: tuple[PureFlash, ...]
    part: Part
    step: Mapping[str, object]
    warning: str

    def source(self) -> Mapping[str, str]:
        """Return the entry of `sources`."""
        return {"value_of": "the resin", "source": self.part.source, "known": self.part.known}


def factor(volume_fraction: float, size_ratio: float, interaction: float) -> float:
    """Return by what a resin lowers the activity of solvents (Flory and Huggins).

    `size_ratio` is the molar volume of the solvents over that of the resin.
    """
    fraction = volume_fraction
    return (1 - fraction) * math.exp(fraction * (1 - size_ratio) + interaction * fraction**2)


def resin_effect(
    blend: Blend, pures: Sequence[PureFlash], correlations: Sequence[Correlation]
) -> ResinEffect | None:
    """Return what the resin of a blend does; None for a blend without one.

    Raises Refused where water is in the blend: what a resin does to it is another matter.
    """
    resin = blend.involatile
    if resin is None:
        return None
    if any(math.isnan(pure.flash_c) for pure in pures):
        raise Refused(
            "resin-and-water",
            "No flash point is calculated for a resin with water: an emulsion or a dispersion "
            "keeps its own rules.",
            where="composition",
            fix="Test it, starting cold.",
        )
    middle = _factor(blend, resin.density_kg_m3, resin.molar_mass_g_mol, INTERACTION)
    moved = tuple(
        replace(pure, flash_c=_moved_c(pure.flash_c, correlation, middle))
        for pure, correlation in zip(pures, correlations, strict=True)
    )
    corners = [
        _factor(blend, density, mass, INTERACTION + sign * INTERACTION_OFF)
        for density, mass, sign in product(
            DENSITIES_KG_M3,
            MOLAR_MASSES_G_MOL if resin.is_assumed else (resin.molar_mass_g_mol,),
            (-1, 1),
        )
    ]
    half_width_c = max(
        abs(_moved_c(pure.flash_c, correlation, corner) - after.flash_c)
        for pure, after, correlation in zip(pures, moved, correlations, strict=True)
        for corner in corners
    )
    share = volume_fraction(blend, resin.density_kg_m3)
    text = (
        f"The resin fills {share:.0%} of the volume and lowers the vapour of the solvents to "
        f"{middle:.3f} of what they have without it (Flory and Huggins, χ = {INTERACTION:g})."
    )
    return ResinEffect(
        pures=moved,
        part=Part(
            f"the resin (χ ±{INTERACTION_OFF:g}, its density and molar mass)",
            half_width_c,
            f"{cite('flory-huggins')}; {cite('resin-judgement')}",
            "memory",
        ),
        step={"step": "resin", "text": text, "volume_fraction": share, "factor": middle},
        warning="A resin gives up its solvent slowly: a specimen may flash well above the estimate "
        "if it is heated fast, and a skin hides the solvent. Use a method fit for viscous samples.",
    )


def volume_fraction(blend: Blend, density_kg_m3: float) -> float:
    """Return the share of a blend's volume that its resin takes."""
    resin = blend.involatile
    assert resin is not None  # noqa: S101 - only asked for blends with one
    solvents = math.fsum(
        x * liquid.molar_mass_g_mol / liquid.properties["density_20c_kg_m3"].value
        for x, liquid in zip(blend.mole_fractions, blend.liquids, strict=True)
    )
    if blend.basis == "volume":
        return resin.fraction
    filled = resin.mass_g / density_kg_m3
    return filled / (filled + solvents)


def _factor(blend: Blend, density: float, molar_mass: float, interaction: float) -> float:
    solvent = math.fsum(
        x * liquid.molar_mass_g_mol / liquid.properties["density_20c_kg_m3"].value
        for x, liquid in zip(blend.mole_fractions, blend.liquids, strict=True)
    )
    return factor(volume_fraction(blend, density), solvent / (molar_mass / density), interaction)


def _moved_c(flash_c: float, correlation: Correlation, factor: float) -> float:
    """Return where the vapour pressure is 1/factor of that at the flash point."""
    pressure = np.exp(ln_vapour_pressure(correlation, np.array([flash_c + KELVIN])))[0] / factor
    found = temperature_k(correlation, float(pressure))
    if found is None:
        raise Refused(
            "no-flash",
            "The resin holds its solvent so fast that no flash point can be calculated.",
            where="composition",
            fix="Test it if it must be known.",
        )
    return found - KELVIN
