"""Products as parts of a blend: petrol in diesel, white spirit, kerosene.

Each is one pseudo-component: it boils where an alkane with its flash point does, and has the groups
of an alkane of its molar mass. That is coarse for traces of a light product, whose first vapours
are lighter than the whole; so the interval also holds what the published blending indices say.
"""

import math
from collections.abc import Sequence
from functools import cache

from closedcup.mixtures.blending_index import INDICES, UNDERSTATED, blended_flash_c
from closedcup.mixtures.consensus import PRODUCT, FlashValue
from closedcup.mixtures.fuels import PseudoComponents, correlations, surrogate
from closedcup.mixtures.interval import Part
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.products import (
    PREFIX,
    RESIN_MOLAR_MASS_G_MOL,
    products,
    stated_molar_mass,
)
from closedcup.mixtures.vapour_pressure import Correlation
from closedcup.sources import Cited

# Density of water at 15 °C, and what a fuel loses to 20 °C: 0.7 kg/m³ for each degree (memory).
WATER_15C_KG_M3, LOSS_TO_20C_KG_M3 = 999.1, 3.5
# Groups CH3 and CH2 have these numbers in both sets of UNIFAC.
CH3, CH2 = 1, 2


def is_product(liquid: Liquid) -> bool:
    """Say whether a part of a blend is a product and not one liquid."""
    return liquid.cas.startswith(PREFIX)


@cache
def pseudo_liquid(name: str) -> Liquid:
    """Return a product as a liquid that a blend can hold."""
    product = products()[name]
    pseudo = surrogate(product.flash_c, product.relative_density)
    molar_mass = float(pseudo.molar_mass_g_mol[0])
    carbons = max(3, round((molar_mass - 2.016) / 14.027))
    density = product.relative_density * WATER_15C_KG_M3 - LOSS_TO_20C_KG_M3
    groups = {CH3: 2, CH2: carbons - 2}
    value = FlashValue(
        product.flash_c, "unspecified", PRODUCT, product.source, product.known,
        half_width_c=product.half_width_c,
    )  # fmt: skip
    return Liquid(
        cas=f"{PREFIX}{name.replace(' ', '-')}",
        name=name,
        role="flammable",
        synonyms=product.synonyms,
        formula=f"C{carbons}H{2 * carbons + 2}",
        molar_mass_g_mol=round(molar_mass, 1),
        properties={
            "density_20c_kg_m3": Cited(round(density, 1), "kg/m³", product.source, product.known)
        },
        flash_values=(value,),
        vapour_pressure=_vapour_pressure(pseudo),
        subgroups=groups,
        dortmund_subgroups=groups,
        hazards=(),
        chemical_class="product",
    )


def resin_part(name: str) -> Liquid:
    """Return a resin as a part of a composition: it neither burns nor gives off vapour here.

    A blend keeps it apart (`Blend.involatile`); no sum is made with it as a liquid.
    """
    return Liquid(
        cas=f"{PREFIX}resin",
        name=name.strip(),
        role="inert",
        synonyms=(),
        formula="",
        molar_mass_g_mol=stated_molar_mass(name) or RESIN_MOLAR_MASS_G_MOL,
        properties={},
        flash_values=(),
        vapour_pressure=None,
        subgroups={},
        dortmund_subgroups={},
        hazards=(),
        chemical_class="resin",
    )


def _vapour_pressure(pseudo: PseudoComponents) -> Correlation:
    constants = (pseudo.critical_k, pseudo.critical_pa, pseudo.acentric)
    high_k = float(pseudo.critical_k[0])
    return Correlation(
        "lee-kesler", tuple(float(each[0]) for each in constants), 230.0, high_k,
        "riazi-daubert", "memory",
    )  # fmt: skip


def index_part(
    liquids: Sequence[Liquid],
    mole_fractions: Sequence[float],
    flashes_c: Sequence[float],
    flash_c: float,
) -> tuple[Part, float, float] | None:
    """Return what the published blending indices say of a blend that holds a product.

    The part with its half width, and the lowest and highest of their flash points. None where no
    product is in the blend, or where something else than hydrocarbons is: no index holds there.
    """  # fmt: skip
    if not any(map(is_product, liquids)) or not all(each.is_hydrocarbon for each in liquids):
        return None
    if any("density_20c_kg_m3" not in each.properties for each in liquids):
        return None
    volumes = [
        x * each.molar_mass_g_mol / each.properties["density_20c_kg_m3"].value
        for x, each in zip(mole_fractions, liquids, strict=True)
    ]
    ways = [
        blended_flash_c(form, list(flashes_c), shares)
        for form in INDICES
        for shares in (_shares(volumes, 1.0, flashes_c), _shares(volumes, UNDERSTATED, flashes_c))
    ]
    said = f"{min(ways):.0f} to {max(ways):.0f} °C"
    names = " and ".join(correlations()[form].name for form in INDICES)
    part = Part(
        f"a product taken as one pseudo-component: the blending indices of {names} give {said}",
        max(abs(way - flash_c) for way in ways),
        "; ".join(correlations()[form].source for form in INDICES),
        "memory",
    )
    return part, min(ways), max(ways)


def _shares(volumes: Sequence[float], less: float, flashes_c: Sequence[float]) -> list[float]:
    """Return volume fractions with this many times less of the lightest part.

    The one published pair (5 % petrol in diesel) flashes above what every way makes of it.
    """
    lightest = min(flashes_c)
    kept = [
        volume / less if flash_c == lightest else volume
        for volume, flash_c in zip(volumes, flashes_c, strict=True)
    ]
    return [volume / math.fsum(kept) for volume in kept]
