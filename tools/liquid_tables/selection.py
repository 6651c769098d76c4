"""Which liquids the catalogue holds beside those chosen by hand."""

import re
from functools import cache

import chemicals

from liquid_tables import names, properties
from liquid_tables.packages import INPUTS, KELVIN, groups, identity, package_table, read_rows

HIGHEST_MELTING_C = 50.0  # a solid at room temperature is still a part of blends, up to here
LOWEST_BOILING_C = -15.0  # butane and isobutane are in, propane is not


@cache
def chosen_by_hand() -> dict[str, dict[str, str]]:
    return {row["cas"]: row for row in read_rows(INPUTS / "liquids.csv")}


@cache
def compiled_flash_points() -> list[dict[str, str]]:
    derived = read_rows(INPUTS / "flash_points_sun2020.csv")
    return [
        *read_rows(INPUTS / "flash_points.csv"),
        *({**row, "cup": "unspecified", "family": row["source"]} for row in derived),
    ]


def candidates() -> list[str]:
    """Return the further liquids that the packages describe well enough to be used."""
    numbers = {
        cas
        for _, table, _ in properties.VAPOUR_PRESSURE
        for cas in package_table("Vapor Pressure", table)
    }
    numbers |= set(package_table("Misc", "Physical Constants of Organic Compounds.csv"))
    numbers |= set(names.common_names())
    return sorted(cas for cas in numbers - set(chosen_by_hand()) if is_described(cas))


def is_described(cas: str) -> bool:
    """Whether a number is a neutral organic liquid with a name and a vapour pressure.

    A liquid that boils where its handbook says it does may lack the vapour pressure: its own
    flash point can be looked up, but no blend is made with it.
    """
    meta = identity(cas)
    if meta is None or not re.search(r"C(?![a-z])", meta.formula) or "." in meta.smiles:
        return False
    if re.search(r"\[\d*2H|\[3H|\[13C|[+-]\d?(?![\d.]*\])", meta.formula):
        return False
    if re.search(r"\[2H\]", meta.smiles) or meta.formula.endswith(("+", "-")):
        return False
    melting = properties.first(cas, chemicals.Tm, chemicals.Tm_methods, properties.MELTING)
    if melting is not None and melting[0] - KELVIN > HIGHEST_MELTING_C:
        return False
    boiling = properties.boiling_point_k(cas)
    if boiling is not None and boiling[0] - KELVIN < LOWEST_BOILING_C:
        return False
    if not names.names_of(cas):
        return False
    if properties.vapour_pressure(cas, 298.15) is not None:
        return True
    known = bool(names.handbook_name(cas)) or cas in names.common_names()
    return known and boiling is not None and melting is not None


def further_liquids() -> list[str]:
    """Return candidates with a flash point on record, or with all that an estimate needs."""
    compiled = {row["cas"] for row in compiled_flash_points()}
    return [cas for cas in candidates() if cas in compiled or has_flash(cas) or is_estimable(cas)]


def has_flash(cas: str) -> bool:
    return any(method in properties.SAFETY for method in chemicals.T_flash_methods(cas))


def is_estimable(cas: str) -> bool:
    """Whether groups, a handbook name and a melting point are known besides the vapour pressure."""
    if not properties.vapour_pressure(cas, 298.15):
        return False
    known = bool(names.handbook_name(cas)) and bool(groups(cas, "UNIFAC"))
    return known and bool(
        properties.first(cas, chemicals.Tm, chemicals.Tm_methods, properties.MELTING)
    )
