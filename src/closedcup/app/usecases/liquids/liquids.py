"""What is known of one liquid, source by source, and what its own data say of its flash point."""

from typing import Any

from closedcup.mixtures import (
    FlashConsensus,
    Liquid,
    consensus_of,
    find,
    pure_estimates,
    saturation_check,
)
from closedcup.mixtures.consensus import CUP_FAMILIES
from closedcup.mixtures.flammable_limit import lower_limit
from closedcup.mixtures.pseudo_liquids import is_product
from closedcup.mixtures.pure_values import unsupported
from closedcup.mixtures.tables import cite

_KELVIN = 273.15


def liquid_answer(name: str, *, own: dict[str, Liquid] | None = None) -> dict[str, Any]:
    """Return the object of `closedcup liquid`; InputError for an unknown or shared name."""
    liquid = find(name, where="liquid", own=own)
    found = consensus_of(liquid)
    check = None if found is None else saturation_check(liquid, found.value_c)
    limit = lower_limit(liquid)
    return {
        "cas": liquid.cas,
        "name": liquid.name,
        "synonyms": list(liquid.synonyms),
        "formula": liquid.formula,
        "molar_mass_g_mol": liquid.molar_mass_g_mol,
        "role": liquid.role,
        "class": liquid.chemical_class,
        "flash_point": None if found is None else _consensus(found),
        "flash_point_by_apparatus_c": {
            family: by.value_c
            for family in CUP_FAMILIES
            if (by := liquid.flash_point(family)) is not None and by.known != "user"
        },
        "flash_values": [
            {
                "value_c": value.value_c,
                "cup": value.cup,
                "family": value.family,
                "rejected": value.rejected or None,
                "source": cite(value.source),
                "known": value.known,
            }
            for value in sorted(liquid.flash_values, key=lambda value: value.value_c)
        ],
        "estimates": [made.as_json() for made in pure_estimates(liquid)],
        "lower_flammable_limit": None if limit is None else limit.as_json(),
        "saturation_over_limit": None if check is None else round(check.ratio, 3),
        "notes": _notes(liquid, found, None if check is None else check.text),
        "properties": {
            key: {
                "value": value.value,
                "unit": value.unit,
                "source": cite(value.source),
                "known": value.known,
            }
            for key, value in liquid.properties.items()
        },
        "vapour_pressure": _vapour_pressure(liquid),
        "unifac_subgroups": {str(group): n for group, n in liquid.subgroups.items()},
        "dortmund_subgroups": {str(group): n for group, n in liquid.dortmund_subgroups.items()},
        "hazards": [
            {
                "hazard": hazard.hazard,
                "note": hazard.note,
                "source": cite(hazard.source),
                "known": hazard.known,
            }
            for hazard in liquid.hazards
        ],
    }


def _consensus(found: FlashConsensus) -> dict[str, Any]:
    origin = cite(found.sources[0]) if len(found.families) == 1 else found.origin()
    return {
        "value_c": found.value_c,
        "half_width_c": found.half_width_c,
        "to_other_cups_c": found.to_other_cups_c,
        "cup": found.cup,
        "families": list(found.families),
        "outliers": list(found.outliers),
        "origin": origin,
        "known": found.known,
    }


def _notes(liquid: Liquid, found: FlashConsensus | None, saturation: str | None) -> list[str]:
    notes = ["Figures from tables at 101.3 kPa, not a test result."]
    if liquid.role == "halogenated":
        notes.append("Its vapour masks the flash: no estimate is made with it.")
    if liquid.chemical_class == "resin":
        notes.append(
            "A resin gives off no vapour of its own; in a blend it holds that of the solvents "
            "down. State a molar mass as “resin 2000 g/mol”."
        )
    elif liquid.role == "inert":
        notes.append("It does not burn: in a blend it dilutes only.")
    if is_product(liquid) and liquid.role == "flammable":
        notes.append(
            "A product of changing composition: in a blend one pseudo-component with the formula "
            "above. A flash point of your own narrows it (own liquids)."
        )
    if found is None and liquid.role == "flammable":
        notes.append("No measured flash point is on record: the first estimate below is used.")
    if found is not None:
        notes += [text for text in (unsupported(liquid, found), saturation) if text]
    if not liquid.hazards:
        notes.append("No hazard is on record; that does not make it safe.")
    return notes


def _vapour_pressure(liquid: Liquid) -> dict[str, Any] | None:
    correlation = liquid.vapour_pressure
    if correlation is None:
        return None
    return {
        "equation": correlation.equation,
        "constants": list(correlation.constants),
        "low_c": round(correlation.low_k - _KELVIN, 2),
        "high_c": round(correlation.high_k - _KELVIN, 2),
        "source": cite(correlation.source),
        "known": correlation.known,
    }
