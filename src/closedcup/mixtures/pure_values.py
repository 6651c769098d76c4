"""What a prediction needs of each pure liquid; who lacks it is named, and the answer refused."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from closedcup.errors import InputError, Refused
from closedcup.mixtures.consensus import (
    CUP_FAMILIES,
    ENOUGH_FAMILIES,
    OWN_HALF_WIDTH_C,
    SUPPORTED_C,
    FlashConsensus,
    consensus,
)
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_estimates import best_estimate
from closedcup.mixtures.vapour_pressure import Correlation
from closedcup.sources import Known


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
    """Choose the flash point of each liquid: own first, then the consensus, then an estimate.

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


def consensus_of(liquid: Liquid, cup_family: str | None = None) -> FlashConsensus | None:
    """Return the consensus flash point of a liquid.

    The interval of a value with few sources is weighed against an estimate; where sources are
    enough, none is made.
    """
    found = consensus(liquid.flash_values, cup_family)
    if found is None or not _has_few_sources(found):
        return found
    made = best_estimate(liquid)
    if made is None:
        return found
    return consensus(liquid.flash_values, cup_family, made.flash_c)


def _has_few_sources(found: FlashConsensus) -> bool:
    return len(found.families) < ENOUGH_FAMILIES and found.cup == "handbook"


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
    found = consensus_of(liquid, cup_family)
    warning = ""
    if found is None and cup_family is not None:
        found = consensus_of(liquid)
        warning = (
            f"No {cup_family} reference figure is on record for {liquid.name}: "
            "its handbook value stands in, so two families of cups are mixed."
        )
    if found is None:
        return _estimated(liquid)
    warning = warning or unsupported(liquid, found)
    return PureFlash(
        flash_c=found.value_c,
        half_width_c=found.half_width_c,
        cup=found.cup,
        origin=found.origin(),
        known=found.known,
        to_other_cups_c=found.to_other_cups_c,
        warning=warning,
    )


def unsupported(liquid: Liquid, found: FlashConsensus) -> str:
    """Say where a value of one or two sources lies far from the estimate; empty otherwise."""
    if not _has_few_sources(found):
        return ""
    made = best_estimate(liquid)
    if made is None or abs(found.value_c - made.flash_c) <= SUPPORTED_C:
        return ""
    return (
        f"The flash point of {liquid.name} ({found.value_c:g} °C) rests on "
        f"{len(found.families)} source(s) and lies {found.value_c - made.flash_c:+.0f} °C from the "
        f"{made.form} estimate: the interval holds both."
    )


def _estimated(liquid: Liquid) -> PureFlash:
    """Estimate a flash point that no table has; its interval is the form's measured error."""
    made = best_estimate(liquid)
    if made is None:
        raise Refused(
            "flash-point-missing",
            f"No flash point of pure {liquid.name} is on record, and too little is known of it "
            "to estimate one.",
            where=f"component {liquid.name}",
            fix="Give the laboratory's own measured value for it.",
        )
    return PureFlash(
        flash_c=round(made.flash_c, 2),
        half_width_c=made.half_width_c,
        cup="estimated",
        origin=f"{made.text} ({made.source})",
        known=made.known,
        warning=f"{liquid.name}: {made.text}. A measured value of your own would narrow this.",
    )
