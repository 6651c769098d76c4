"""The laboratory's own liquids and its own measured values of liquids in the catalogue: they win.

An entry names a liquid of the catalogue (by `cas` or `name`) and the values that replace its
record, or describes a liquid that the catalogue lacks. Every value is marked `user`.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from closedcup.errors import InputError
from closedcup.mixtures.consensus import FlashValue
from closedcup.mixtures.liquids import UNITS, Liquid, Role, parse_groups
from closedcup.mixtures.names import check_cas, find, name_key
from closedcup.mixtures.physics_check import saturation_check
from closedcup.mixtures.vapour_pressure import EQUATIONS, Correlation
from closedcup.sources import Cited

OWN_SOURCE: Final = "own-values"
_KELVIN: Final = 273.15

# Key, and the range outside which the number is a slip of the pen or of the unit.
NUMBERS: Final[Mapping[str, tuple[float, float]]] = {
    "flash_point_c": (-120, 500),
    "half_width_c": (0.1, 50),
    "molar_mass_g_mol": (10, 3000),
    "density_20c_kg_m3": (300, 4000),
    "boiling_c": (-50, 800),
    "melting_c": (-220, 400),
    "heat_of_vaporisation_25c_kj_mol": (5, 300),
    "heat_of_combustion_25c_kj_mol": (50, 50_000),
    "lfl_percent": (0.1, 40),
    "autoignition_c": (20, 1000),
    "vapour_pressure_low_c": (-200, 700),
    "vapour_pressure_high_c": (-200, 900),
}
TEXTS: Final = (
    "name", "cas", "formula", "synonyms", "unifac", "unifac_dortmund",
    "vapour_pressure_equation", "vapour_pressure_constants",
)  # fmt: skip
_HALOGENS: Final = re.compile(r"F(?![a-z])|Cl|Br|I(?![a-z])")


def own_liquids(entries: Sequence[Mapping[str, Any]]) -> dict[str, Liquid]:
    """Return the liquids of a file by CAS number, or by "own:" and the name where there is none.

    Keys of an entry are those of `NUMBERS` and `TEXTS`; names of a unit end the key. A liquid
    that the catalogue lacks needs name, formula and molar_mass_g_mol. Raises InputError, naming
    the entry, for an unknown key, a number out of range, a formula or equation that cannot be
    read, or a liquid given twice.
    """
    found: dict[str, Liquid] = {}
    for number, entry in enumerate(entries, start=1):
        where = f"own liquid {number} ({entry.get('name') or entry.get('cas') or 'no name'})"
        liquid = _liquid(_checked(entry, where), where)
        if liquid.cas in found:
            raise InputError(
                "own-liquid-repeated",
                f"{liquid.name} was given twice.",
                where=where,
                fix="Give each liquid once.",
            )
        found[liquid.cas] = liquid
    return found


def own_warnings(liquids: Mapping[str, Liquid]) -> tuple[str, ...]:
    """Return what an own flash point does not agree with: the liquid's own flammable limit."""
    checks = (
        (liquid, saturation_check(liquid, found.value_c))
        for liquid in liquids.values()
        if (found := liquid.flash_point()) is not None and found.known == "user"
    )
    return tuple(
        f"{liquid.name}, own value: {check.text}"
        for liquid, check in checks
        if check is not None and not check.is_usual
    )


def _checked(entry: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Return the entry with numbers as numbers; empty cells of a table are left out."""
    checked: dict[str, Any] = {}
    for key, value in entry.items():
        if value in ("", None):
            continue
        if key in NUMBERS:
            checked[key] = _number(key, value, where)
        elif key in TEXTS:
            checked[key] = value
        else:
            raise InputError(
                "own-liquid-key",
                f"“{key}” is not a value that an own liquid can have.",
                where=where,
                fix=f"Use: {', '.join((*TEXTS, *NUMBERS))}.",
            )
    return checked


def _number(key: str, value: object, where: str) -> float:
    low, high = NUMBERS[key]
    try:
        number = float(str(value))
    except ValueError:
        number = math.nan
    if not low <= number <= high:
        raise InputError(
            "own-liquid-number",
            f"{key} = {value} is not a number from {low:g} to {high:g}.",
            where=where,
            fix="Check the number and the unit that ends the key.",
        )
    return number


def _liquid(entry: Mapping[str, Any], where: str) -> Liquid:
    liquid = _on_record(entry, where) or _new(entry, where)
    properties = {
        key: Cited(entry[key], unit, OWN_SOURCE, "user")
        for key, unit in UNITS.items()
        if key in entry
    }
    flashes = liquid.flash_values
    if "flash_point_c" in entry:
        half_width_c = entry.get("half_width_c", math.nan)
        own = FlashValue(
            entry["flash_point_c"], "own", "own", OWN_SOURCE, "user", half_width_c=half_width_c
        )
        flashes = (own, *flashes)
    return replace(
        liquid,
        properties={**liquid.properties, **properties},
        flash_values=flashes,
        vapour_pressure=_correlation(entry, where) or liquid.vapour_pressure,
        subgroups=_groups(entry, "unifac", where) or liquid.subgroups,
        dortmund_subgroups=_groups(entry, "unifac_dortmund", where) or liquid.dortmund_subgroups,
        molar_mass_g_mol=entry.get("molar_mass_g_mol", liquid.molar_mass_g_mol),
    )


def _on_record(entry: Mapping[str, Any], where: str) -> Liquid | None:
    """Return the liquid of the catalogue that an entry means, or None when it describes another."""
    if "cas" not in entry and "name" not in entry:
        raise InputError(
            "own-liquid-nameless",
            "The entry has neither name nor CAS number.",
            where=where,
            fix="Give cas, or name.",
        )
    if "cas" in entry:
        check_cas(str(entry["cas"]), where)
    try:
        return find(str(entry.get("cas") or entry["name"]), where=where)
    except InputError as error:
        if error.kind == "liquid-unknown" and "formula" in entry:
            return None
        raise


def _new(entry: Mapping[str, Any], where: str) -> Liquid:
    lacking = [key for key in ("name", "formula", "molar_mass_g_mol") if key not in entry]
    if lacking:
        raise InputError(
            "own-liquid-incomplete",
            f"A liquid that the catalogue lacks needs {' and '.join(lacking)}.",
            where=where,
            fix="Add them, or name a liquid of the catalogue.",
        )
    formula = str(entry["formula"])
    if not re.fullmatch(r"([A-Z][a-z]?\d*)+", formula):
        raise InputError(
            "own-liquid-formula",
            f"“{formula}” is not a formula without brackets.",
            where=where,
            fix="Write it like C4H8O2.",
        )
    name = str(entry["name"])
    role: Role = "halogenated" if _HALOGENS.search(formula) else "flammable"
    return Liquid(
        cas=str(entry.get("cas") or f"own:{name_key(name)}"),
        name=name,
        role=role,
        synonyms=tuple(part.strip() for part in str(entry.get("synonyms", "")).split(";") if part),
        formula=formula,
        molar_mass_g_mol=entry["molar_mass_g_mol"],
        properties={},
        flash_values=(),
        vapour_pressure=None,
        subgroups={},
        dortmund_subgroups={},
        hazards=(),
    )


def _groups(entry: Mapping[str, Any], key: str, where: str) -> dict[int, int]:
    try:
        return parse_groups(str(entry.get(key, "")))
    except ValueError as error:
        raise InputError(
            "own-liquid-groups",
            f"{key} = “{entry[key]}” does not count groups.",
            where=where,
            fix="Write group:count with blanks between, like 1:2 2:3 (numbers of the model).",
        ) from error


def _correlation(entry: Mapping[str, Any], where: str) -> Correlation | None:
    keys = [f"vapour_pressure_{part}" for part in ("equation", "constants", "low_c", "high_c")]
    given = [key for key in keys if key in entry]
    if not given:
        return None
    equation = entry.get(keys[0])
    try:
        text = re.sub(r"[\[\],]", " ", str(entry.get(keys[1], "")))
        constants = tuple(float(part) for part in text.split())
    except ValueError:
        constants = ()
    if len(given) < len(keys) or EQUATIONS.get(str(equation)) != len(constants):
        known = ", ".join(f"{name} ({count} constants)" for name, count in EQUATIONS.items())
        raise InputError(
            "own-liquid-vapour-pressure",
            "The vapour pressure is not complete.",
            where=where,
            fix=f"Give {', '.join(keys)}; equations (kelvin, pascal): {known}.",
        )
    low_k, high_k = entry[keys[2]] + _KELVIN, entry[keys[3]] + _KELVIN
    return Correlation(str(equation), constants, low_k, high_k, OWN_SOURCE, "user")
