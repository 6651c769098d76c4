"""Build the tables of `closedcup.mixtures` from open data.

Run with `.venv/bin/python tools/build_liquids.py`. Reads `tools/inputs` and the data files of the
packages `chemicals` and `thermo` (development dependencies, never imported by the program) and
writes `src/closedcup/mixtures/data`. The result is the same byte for byte for the same versions.
`hazards.csv`, `hazard_words.csv`, `miscible.csv`, `model_error.csv` and `sources.csv` are kept by
hand and not touched.
"""

import csv
import math
import statistics
from collections.abc import Iterable, Iterator
from functools import cache
from importlib.resources import files
from pathlib import Path

import chemicals
from chemicals import volume
from chemicals.identifiers import pubchem_db
from thermo import unifac

INPUTS = Path(__file__).parent / "inputs"
DATA = Path(__file__).parent.parent / "src/closedcup/mixtures/data"
KELVIN = 273.15

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
SAFETY = {
    "IEC 60079-20-1 (2010)": "iec-60079-20-1",
    "NFPA 497 (2008)": "nfpa-497",
    "WIKIDATA": "wikidata",
}
FLASH = SAFETY | {"Serat DIPPR (2017)": "serat-2017"}
FAMILY = {"wikidata": "niosh"}  # Wikidata's flash points are NIOSH figures converted from °F


def read_rows(path: Path) -> list[dict[str, str]]:
    text = path.read_text(encoding="utf-8").splitlines(keepends=True)
    return list(csv.DictReader(text, delimiter="\t" if "\t" in text[0] else ","))


@cache
def package_table(folder: str, name: str) -> dict[str, dict[str, str]]:
    return {row["CAS"]: row for row in read_rows(Path(str(files("chemicals"))) / folder / name)}


def write_rows(name: str, columns: Iterable[str], rows: Iterable[Iterable[object]]) -> None:
    with (DATA / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        for row in rows:
            writer.writerow(f"{cell:.10g}" if isinstance(cell, float) else cell for cell in row)
    print(f"wrote {name}")


def synonyms(cas: str, name: str, chosen: str) -> str:
    """Names chosen by hand, then the two systematic ones of the package.

    The package's longer list is not used: it holds trade names, and words that mean another
    liquid ("methylacetate" for propionic acid).
    """
    meta = pubchem_db.search_CAS(cas)
    wanted = [entry for entry in chosen.split(";") if entry]
    for entry in (meta.common_name, meta.iupac_name):
        if entry.lower() not in {known.lower() for known in [name, *wanted]}:
            wanted.append(entry)
    return ";".join(wanted)


def role(cas: str, formula: str) -> str:
    """Say how a liquid enters the sum: water dilutes only; halogens mask, so no sum is made."""
    if cas == "7732-18-5":
        return "inert"
    elements = chemicals.nested_formula_parser(formula)
    return "halogenated" if {"F", "Cl", "Br", "I"} & set(elements) else "flammable"


def liquid_rows(chosen: list[dict[str, str]]) -> Iterator[tuple[object, ...]]:
    for row in chosen:
        formula = pubchem_db.search_CAS(row["cas"]).formula
        molar_mass = chemicals.molecular_weight(chemicals.nested_formula_parser(formula))
        names = synonyms(row["cas"], row["name"], row["synonyms"])
        yield (
            row["cas"], row["name"], role(row["cas"], formula), names, formula,
            round(molar_mass, 4), "chemicals + names-chosen", "package",
        )  # fmt: skip


def density_kg_m3(cas: str, kelvin: float) -> tuple[float, str] | None:
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
        molar_mass = pubchem_db.search_CAS(cas).MW
        return chemicals.EQ105(kelvin, c1, c2, c3, c4) * molar_mass, "perry-8"
    crc = package_table("Misc", "Physical Constants of Organic Compounds.csv").get(cas)
    return (float(crc["rho"]), "crc-organic") if crc and crc["rho"] else None


def property_rows(chosen: list[dict[str, str]]) -> Iterator[tuple[object, ...]]:
    """One row per liquid and property, so that every value carries its own source."""
    for cas in (row["cas"] for row in chosen):
        melting = first(cas, chemicals.Tm, chemicals.Tm_methods, MELTING)
        density = density_kg_m3(cas, 20 + KELVIN)
        if density and (melting is None or melting[0] < 20 + KELVIN):
            yield cas, "density_20c_kg_m3", round(density[0], 1), density[1], "package"
        boiling = boiling_point_k(cas)
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


def boiling_point_k(cas: str) -> tuple[float, str] | None:
    """Return the first boiling point that agrees with the others: single rows are wrong."""
    available = [method for method in BOILING if method in chemicals.Tb_methods(cas)]
    values = {method: float(chemicals.Tb(cas, method=method)) for method in available}
    if not values:
        return None
    middle = statistics.median(values.values())
    return first(
        cas, chemicals.Tb, chemicals.Tb_methods, BOILING, lambda value: abs(value - middle) < 3
    )


def lfl(cas: str, method: str) -> float:
    return chemicals.LFL(CASRN=cas, method=method)


def lfl_methods(cas: str) -> list[str]:
    return chemicals.LFL_methods(CASRN=cas)


def first(cas, value, methods, wanted, accept=lambda _value: True):  # noqa: ANN001, ANN201 - a tool over untyped functions
    available = methods(cas)
    for method, source in wanted.items():
        if method in available and accept(value(cas, method=method)):
            return float(value(cas, method=method)), source
    return None


def flash_rows(chosen: list[dict[str, str]]) -> Iterator[tuple[object, ...]]:
    compiled = read_rows(INPUTS / "flash_points.csv")
    rejected = read_rows(INPUTS / "rejected.csv")
    for cas in (row["cas"] for row in chosen):
        found = [
            (float(row["value_c"]), row["cup"], row["family"], row["source"], row["known"])
            for row in compiled
            if row["cas"] == cas
        ]
        for method in chemicals.T_flash_methods(cas):
            source = FLASH[method]
            value = round(chemicals.T_flash(cas, method=method) - KELVIN, 2)
            found.append((value, "unspecified", FAMILY.get(source, source), source, "package"))
        for value, cup, family, source, known in sorted(found, key=lambda row: (row[2:], row[0])):
            yield cas, value, cup, family, rejection(cas, source, value, rejected), source, known


def rejection(cas: str, source: str, value: float, rejected: list[dict[str, str]]) -> str:
    if source == "serat-2017":
        return "table more than 5 °C off the others for nearly half its liquids"
    for row in rejected:
        same = row["cas"] == cas and row["source"] in ("", source)
        if same and (not row["value_c"] or abs(float(row["value_c"]) - value) < 0.5):
            return row["reason"]
    return ""


def vapour_pressure_rows(
    chosen: list[dict[str, str]], flashes: list[tuple[object, ...]]
) -> Iterator[tuple[object, ...]]:
    for cas in (row["cas"] for row in chosen):
        values = sorted(float(row[1]) for row in flashes if row[0] == cas and not row[4])
        flash_k = values[len(values) // 2] + KELVIN if values else 298.15
        found = [
            row
            for entry in VAPOUR_PRESSURE
            if (row := correlation(cas, *entry)) is not None and meets_boiling_point(row)
        ]
        inside = [row for row in found if row[8] <= flash_k <= row[9]]
        if found:
            yield (inside or found)[0]


def correlation(cas: str, source: str, table: str, equation: str) -> tuple[object, ...] | None:
    row = package_table("Vapor Pressure", table).get(cas)
    if row is None:
        return None
    coefficients = [float(row[name]) for name in COEFFICIENTS[equation]]
    low = float(row.get("Tmin") or row["Tm"])
    high = float(row.get("Tmax") or row["Tc"])
    padded = [*coefficients, *[""] * (6 - len(coefficients))]
    return (cas, equation, *padded, low, high, source, "package")


def meets_boiling_point(row: tuple[object, ...]) -> bool:
    """Whether a correlation gives 101.3 kPa, within a fifth, at the normal boiling point.

    One of the tables is a factor of two off for N,N-dimethylacetamide.
    """
    boiling = boiling_point_k(str(row[0]))
    if boiling is None:
        return True
    constants = [float(value) for value in row[2:8] if value != ""]
    pressure = float(PRESSURE[str(row[1])](boiling[0], *constants))
    return abs(pressure / 101325 - 1) < 0.2


def group_rows(chosen: list[dict[str, str]]) -> Iterator[tuple[object, ...]]:
    for cas in (row["cas"] for row in chosen):
        groups = unifac.UNIFAC_group_assignment_DDBST(cas, "UNIFAC") or {}
        for group, count in sorted(groups.items()):
            yield cas, group, count, "ddbst-groups", "package"


def main() -> None:
    chosen = read_rows(INPUTS / "liquids.csv")
    groups = list(group_rows(chosen))
    flashes = list(flash_rows(chosen))
    used = sorted({int(row[1]) for row in groups})
    mains = sorted({unifac.UFSG[group].main_group_id for group in used})
    known = ("source", "known")
    write_rows(
        "liquids.csv",
        ("cas", "name", "role", "synonyms", "formula", "molar_mass_g_mol", *known),
        liquid_rows(chosen),
    )
    write_rows("properties.csv", ("cas", "property", "value", *known), property_rows(chosen))
    write_rows("flash_points.csv", ("cas", "value_c", "cup", "family", "rejected", *known), flashes)
    write_rows(
        "vapour_pressure.csv",
        ("cas", "equation", "c1", "c2", "c3", "c4", "c5", "c6", "low_k", "high_k", *known),
        vapour_pressure_rows(chosen, flashes),
    )
    write_rows("unifac_assignments.csv", ("cas", "subgroup", "count", *known), groups)
    write_rows(
        "unifac_subgroups.csv",
        ("subgroup", "name", "main_group", "r", "q", *known),
        (
            (i, g.group, g.main_group_id, float(g.R), float(g.Q), "unifac-original", "package")
            for i, g in ((i, unifac.UFSG[i]) for i in used)
        ),
    )
    unifac.load_unifac_ip()
    write_rows(
        "unifac_interactions.csv",
        ("main_group", "with_main_group", "a_k", *known),
        (
            (m, n, unifac.UFIP[m][n], "unifac-original", "package")
            for m in mains
            for n in mains
            if m != n and n in unifac.UFIP[m]
        ),
    )


if __name__ == "__main__":
    main()
