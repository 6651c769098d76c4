"""What a prediction needs of each pure liquid; who lacks it is named, and the answer refused."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.errors import InputError, Refused
from closedcup.mixtures.consensus import CUP_FAMILIES
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.vapour_pressure import Correlation
from closedcup.sources import Known

# The laboratory's own value is taken to this (half a 95 % interval): the repeatability of a
# closed-cup method between 0 and 70 °C is 1 to 2 °C (our judgement; the bias is not in it).
OWN_HALF_WIDTH_C: Final = 2.0


@dataclass(frozen=True, slots=True)
class PureFlash:
    """The flash point (101.3 kPa) taken for one liquid of a blend, and why; nan when inert."""

    flash_c: float
    half_width_c: float
    cup: str
    origin: str
    known: Known
    to_other_cups_c: float = 0.0
    warning: str = ""


def pure_flashes(
    liquids: Sequence[Liquid],
    *,
    cup_family: str | None = None,
    own_flash_c: Mapping[str, float] | None = None,
) -> tuple[PureFlash, ...]:
    """Choose the flash point of each liquid: the laboratory's own first, then the consensus.

    `cup_family` asks for reference figures of one family of apparatus; a liquid without one falls
    back to its handbook value with a warning. `own_flash_c` is keyed by CAS number, corrected
    scale. Raises Refused for halogenated liquids (masking) and liquids without a flash point,
    InputError for an unknown family, or an own value that belongs to no component.
    """
    if cup_family is not None and cup_family not in CUP_FAMILIES:
        raise InputError(
            "cup-family-unknown",
            f"“{cup_family}” is not a family of cups.",
            where="cup family",
            fix=f"Use one of: {', '.join(CUP_FAMILIES)}.",
        )
    own = dict(own_flash_c or {})
    strangers = set(own) - {liquid.cas for liquid in liquids}
    if strangers:
        raise InputError(
            "own-value-unused",
            f"An own flash point was given for {', '.join(sorted(strangers))}, "
            "which is not in the blend.",
            where="own flash point",
            fix="Give own values by the CAS number of a component.",
        )
    refuse_masking(liquids)
    return tuple(_pure_flash(liquid, cup_family, own) for liquid in liquids)


def refuse_masking(liquids: Sequence[Liquid]) -> None:
    """Refuse a blend that holds a halogenated liquid: its vapour masks the flash."""
    masking = [liquid.name for liquid in liquids if liquid.role == "halogenated"]
    if masking:
        raise Refused(
            "masking",
            f"{' and '.join(masking)}: halogenated vapour masks the flash (it thins and quenches "
            "the flame, which swells and may burn outside the cup): no flash point is estimated.",
            where="composition",
            fix="Test the sample with extraction near the cup; note a swollen or coloured flame. "
            "No flash in the cup does not mean that the liquid is not flammable.",
        )


def correlations_of(liquids: Sequence[Liquid]) -> tuple[Correlation, ...]:
    """Return each liquid's vapour-pressure correlation; refuse, by name, where one is missing."""
    lacking = [liquid.name for liquid in liquids if liquid.vapour_pressure is None]
    if lacking:
        raise Refused(
            "vapour-pressure-missing",
            f"No vapour-pressure correlation is known for {' and '.join(lacking)}.",
            where="composition",
            fix="Measure without an estimate: start cold, as for an unknown composition.",
        )
    return tuple(liquid.vapour_pressure for liquid in liquids if liquid.vapour_pressure)


def _pure_flash(liquid: Liquid, cup_family: str | None, own: Mapping[str, float]) -> PureFlash:
    if liquid.role == "inert":
        return PureFlash(np.nan, 0.0, "", "does not burn", "common practice")
    if liquid.cas in own:
        value = own[liquid.cas]
        return PureFlash(value, OWN_HALF_WIDTH_C, "own", "the laboratory's own value", "user")
    found = liquid.flash_point(cup_family)
    warning = ""
    if found is None and cup_family is not None:
        found = liquid.flash_point()
        warning = (
            f"No {cup_family} reference figure is on record for {liquid.name}: "
            "its handbook value stands in, so two families of cups are mixed."
        )
    if found is None:
        raise Refused(
            "flash-point-missing",
            f"No flash point of pure {liquid.name} is on record.",
            where=f"component {liquid.name}",
            fix="Give the laboratory's own measured value for it.",
        )
    return PureFlash(
        flash_c=found.value_c,
        half_width_c=found.half_width_c,
        cup=found.cup,
        origin=found.origin(),
        known=found.known,
        to_other_cups_c=found.to_other_cups_c,
        warning=warning,
    )
