"""Properties and vapour pressures of one liquid, from the first table that can be trusted."""

import math
import re
import statistics
from collections.abc import Callable, Iterator
from functools import cache

import chemicals
from chemicals import volume

from liquid_tables.packages import KELVIN, identity, package_table

# In this order of preference; the first whose range holds the flash point is taken.
VAPOUR_PRESSURE = (
    ("vdi-2010", "VDI PPDS Boiling temperatures at different pressures.tsv", "wagner-2.5-5"),
    ("perry-8", "Table 2-8 Vapor Pressure of Inorganic and Organic Liquids.tsv", "dippr-101"),
    ("poling-wagner", "Wagner Collection Poling.tsv", "wagner-2.5-5"),
    ("mcgarry-1983", "Wagner Original McGarry.tsv", "wagner-3-6"),
    ("poling-antoine", "Antoine Collection Poling.tsv", "antoine-log10"),
    ("landolt-v20", "Landolt_antoine_V20.tsv", "antoine-ln"),
)
COEFFICIENTS = {
    "wagner-2.5-5": ("A", "B", "C", "D", "Tc", "Pc"),
    "wagner-3-6": ("A", "B", "C", "D", "Tc", "Pc"),
    "dippr-101": ("C1", "C2", "C3", "C4", "C5"),
    "antoine-log10": ("A", "B", "C"),
    "antoine-ln": ("A", "B", "C"),
}
PRESSURE = {
    "wagner-2.5-5": lambda t, a, b, c, d, tc, pc: chemicals.Wagner(t, tc, pc, a, b, c, d),
    "wagner-3-6": lambda t, a, b, c, d, tc, pc: chemicals.Wagner_original(t, tc, pc, a, b, c, d),
    "dippr-101": chemicals.EQ101,
    "antoine-log10": chemicals.Antoine,
    "antoine-ln": lambda t, a, b, c: chemicals.Antoine(t, a, b, c, base=math.e),
}
BOILING = {
    "CRC_ORG": "crc-organic", "COMMON_CHEMISTRY": "common-chemistry", "WEBBOOK": "webbook",
    "HEOS": "heos", "YAWS": "yaws-boiling", "WIKIDATA": "wikidata",
}  # fmt: skip
MELTING = {
    "CRC_ORG": "crc-organic", "COMMON_CHEMISTRY": "common-chemistry",
    "OPEN_NTBKM": "open-notebook", "WEBBOOK": "webbook", "WIKIDATA": "wikidata",
}  # fmt: skip
FORMATION = {
    "ATCT_G": "atct", "CRC": "crc-formation", "WEBBOOK": "webbook", "TRC": "trc",
    "YAWS": "yaws-formation",
}  # fmt: skip
SAFETY = {
    "IEC 60079-20-1 (2010)": "iec-60079-20-1",
    "NFPA 497 (2008)": "nfpa-497",
    "WIKIDATA": "wikidata",
}
# Heats of formation of the gases that a complete combustion leaves, kJ/mol at 25 °C (memory).
PRODUCTS_KJ_MOL = {"C": -393.51, "H": -241.83 / 2, "S": -296.81}
# One table has a liquid boil at 2100 °C.
HIGHEST_BOILING_K = 1100
Found = tuple[float, str] | None


def property_rows(cas: str) -> Iterator[tuple[object, ...]]:
    """Yield one row per property, so that every value carries its own source."""
    melting, boiling = first(cas, chemicals.Tm, chemicals.Tm_methods, MELTING), boiling_point_k(cas)
    if melting and boiling and melting[0] >= boiling[0]:
        melting = None  # two rows that ship hold a boiling point there
    density = density_kg_m3(cas, 20 + KELVIN)
    if density and (melting is None or melting[0] < 20 + KELVIN):
        yield cas, "density_20c_kg_m3", round(density[0], 1), density[1], "package"
    for name, found in (("boiling_c", boiling), ("melting_c", melting)):
        if found:
            yield cas, name, round(found[0] - KELVIN, 2), found[1], "package"
    # Slips of the tables as shipped: -0.9 % for 1-octanol, 0.0011 % for acetophenone.
    limit = first(cas, lfl, lfl_methods, SAFETY, lambda value: 0.002 < value < 0.5)
    if limit:
        yield cas, "lfl_percent", round(limit[0] * 100, 4), limit[1], "package"
    ignition = first(cas, chemicals.T_autoignition, chemicals.T_autoignition_methods, SAFETY)
    if ignition:
        yield cas, "autoignition_c", round(ignition[0] - KELVIN, 1), ignition[1], "package"
    vaporisation = heat_of_vaporisation_kj_mol(cas)
    if vaporisation:
        value, source = vaporisation
        yield cas, "heat_of_vaporisation_25c_kj_mol", round(value, 2), source, "package"
    combustion = heat_of_combustion_kj_mol(cas)
    if combustion:
        value, source = combustion
        yield cas, "heat_of_combustion_25c_kj_mol", round(value, 1), source, "package"


def density_kg_m3(cas: str, kelvin: float) -> Found:
    """Return the density of the liquid from the first correlation that reaches so low."""
    vdi = package_table("Density", "VDI PPDS Density of Saturated Liquids.tsv").get(cas)
    if vdi:
        names = ("Tc", "rhoc", "A", "B", "C", "D", "MW")
        critical, rhoc, *coefficients, molar_mass = (float(vdi[key]) for key in names)
        molar_volume = volume.volume_VDI_PPDS(kelvin, critical, rhoc, *coefficients, molar_mass)
        return molar_mass / 1000 / molar_volume, "vdi-2010"
    perry = package_table("Density", "Perry Parameters 105.tsv").get(cas)
    if perry and float(perry["Tmin"]) <= kelvin:
        c1, c2, c3, c4 = (float(perry[f"C{i}"]) for i in range(1, 5))
        molar = chemicals.EQ105(kelvin, c1, c2, c3, c4)  # mol/m³ as shipped
        return molar * identity(cas).MW / 1000, "perry-8"
    crc = package_table("Misc", "Physical Constants of Organic Compounds.csv").get(cas)
    return (float(crc["rho"]), "crc-organic") if crc and crc["rho"] else None


@cache
def boiling_point_k(cas: str) -> Found:
    """Return the first boiling point that agrees with the others: single rows are wrong."""
    available = [method for method in BOILING if method in chemicals.Tb_methods(cas)]
    values = {
        method: kelvin
        for method in available
        if (kelvin := float(chemicals.Tb(cas, method=method))) < HIGHEST_BOILING_K
    }
    if not values:
        return None
    middle = statistics.median(values.values())
    return first(
        cas, chemicals.Tb, chemicals.Tb_methods, BOILING, lambda value: abs(value - middle) < 3
    )


def heat_of_vaporisation_kj_mol(cas: str) -> Found:
    """Return the heat of vaporisation at 25 °C."""
    table = package_table("Phase Change", "CRC Handbook Heat of Vaporization.tsv").get(cas)
    if table and table["Hvap298"]:
        return float(table["Hvap298"]) / 1000, "crc-vaporisation"
    appendix = package_table("Phase Change", "Ghazerati Appendix Vaporization Enthalpy.tsv")
    row = appendix.get(cas)
    return (float(row["Hvap298"]) / 1000, "acree-vaporisation") if row else None


def heat_of_combustion_kj_mol(cas: str) -> Found:
    """Return the net heat of combustion of the gas at 25 °C, from its heat of formation."""
    counts = atoms(identity(cas).formula)
    if set(counts) - set("CHNOS"):
        return None
    formation = first(cas, chemicals.Hfg, chemicals.Hfg_methods, FORMATION)
    if formation is None:
        return None
    products = sum(PRODUCTS_KJ_MOL.get(element, 0.0) * n for element, n in counts.items())
    heat = formation[0] / 1000 - products
    return (heat, f"{formation[1]} + combustion-products") if heat > 1 else None


def atoms(formula: str) -> dict[str, int]:
    counts: dict[str, int] = {}
    for element, number in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
        counts[element] = counts.get(element, 0) + int(number or 1)
    return counts


def lfl(cas: str, method: str) -> float:
    return chemicals.LFL(CASRN=cas, method=method)


def lfl_methods(cas: str) -> list[str]:
    return chemicals.LFL_methods(CASRN=cas)


def first(
    cas: str,
    value: Callable[..., float],
    methods: Callable[[str], list[str]],
    wanted: dict[str, str],
    accept: Callable[[float], bool] = lambda _value: True,
) -> Found:
    available = methods(cas)
    for method, source in wanted.items():
        if method in available and accept(value(cas, method=method)):
            return float(value(cas, method=method)), source
    return None


def vapour_pressure(cas: str, flash_k: float) -> tuple[object, ...] | None:
    """Return the first correlation that meets the boiling point and reaches the flash point."""
    found = [
        row
        for entry in VAPOUR_PRESSURE
        if (row := correlation(cas, *entry)) is not None and meets_boiling_point(row)
    ]
    inside = [row for row in found if row[8] <= flash_k <= row[9]]
    return (inside or found)[0] if found else None


def correlation(cas: str, source: str, table: str, equation: str) -> tuple[object, ...] | None:
    row = package_table("Vapor Pressure", table).get(cas)
    if row is None:
        return None
    coefficients = [float(row[name]) for name in COEFFICIENTS[equation]]
    low, high = (
        row.get(f"T{end}") or row.get(other) for end, other in (("min", "Tm"), ("max", "Tc"))
    )
    if not low or not high:
        return None  # a correlation whose range nobody states
    low, high = float(low), float(high)
    padded = [*coefficients, *[""] * (6 - len(coefficients))]
    return (cas, equation, *padded, low, high, source, "package")


def meets_boiling_point(row: tuple[object, ...]) -> bool:
    """Whether a correlation gives 101.3 kPa, within a fifth, at the normal boiling point.

    One of the tables is a factor of two off for N,N-dimethylacetamide. Where the boiling point
    lies outside the range, a factor of 1.6 is allowed: the equation is extrapolated there.
    """
    boiling = boiling_point_k(str(row[0]))
    if boiling is None:
        return True
    constants = [float(value) for value in row[2:8] if value != ""]
    pressure = float(PRESSURE[str(row[1])](boiling[0], *constants))
    if row[8] <= boiling[0] <= row[9]:
        return abs(pressure / 101325 - 1) < 0.2
    return 1 / 1.6 < pressure / 101325 < 1.6
