"""What GHS and CLP (2.6.4.2) do not accept a calculated flash point for, seen from a blend.

Their condition names hydrocarbons, ethers, alcohols, esters other than acrylates, and water, six
volatile components at most; halogenated liquids are refused before this. A value outside is still
calculated, for planning a test.
"""

from typing import Final

from closedcup.mixtures.blend import Blend
from closedcup.mixtures.liquids import Liquid

MOST_COMPONENTS: Final = 6
ACCEPTED: Final = frozenset({
    "alkane", "cycloalkane", "alkene", "alkyne", "aromatic hydrocarbon", "alcohol",
    "aromatic alcohol", "glycol", "ether", "aromatic ether", "glycol ether", "ester",
    "aromatic ester",
})  # fmt: skip
# Groups of vinyl (CH2=CH, CH2=C) beside an ester are how an acrylate is told here.
ACRYLATE: Final = "acrylic monomer"


def outside_scope(blend: Blend) -> str:
    """Say why a calculation for this blend is outside the published condition; "" where it is not.

    A resin, a product of changing composition and a liquid whose class is not known count as
    outside: the composition must be exactly known.
    """
    named = [f"{each.name} ({reason})" for each in blend.liquids if (reason := _reason(each))]
    if blend.involatile is not None:
        named.append("a resin")
    if len(blend.liquids) > MOST_COMPONENTS:
        named.append(f"more than {MOST_COMPONENTS} volatile components")
    return "; ".join(named)


def _reason(liquid: Liquid) -> str:
    if liquid.role == "inert":
        return ""
    if any(ACRYLATE in hazard.note for hazard in liquid.hazards) or "acryl" in liquid.name:
        return "acrylate"
    if "S" in liquid.formula or "P" in liquid.formula:
        return "holds sulphur or phosphorus"
    if liquid.chemical_class in ACCEPTED:
        return ""
    return liquid.chemical_class or "not of a known class"
