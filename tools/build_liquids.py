"""Build the tables of `closedcup.mixtures` from open data.

Run with `.venv/bin/python tools/build_liquids.py`. Reads `tools/inputs` and the data files of the
packages `chemicals` and `thermo` (development dependencies, never imported by the program), reads
structures with `rdkit` (only here: `pip install rdkit`), and writes
`src/closedcup/mixtures/data`. The result is the same byte for byte for the same versions
(chemicals 1.5.2, thermo 0.6.1; several rdkit releases were not compared). Tables by CAS number
have their lines in order of code points, as `mixtures.tables` needs.

`hazards.csv`, `hazard_words.csv`, `class_lines.csv`, `miscible.csv` and `sources.csv` are kept by
hand and not touched; `tools/measure_model_errors.py` writes `model_error.csv`.
"""

import csv
import io
from collections.abc import Iterable

import chemicals
from liquid_tables import flash, measured, names, properties, selection, structure
from liquid_tables.packages import DATA, KELVIN, groups, identity
from thermo import unifac

from closedcup.mixtures.consensus import family_widths
from closedcup.mixtures.flammable_limit import limit_errors
from closedcup.mixtures.liquids import Liquid, catalogue
from closedcup.mixtures.physics_check import bands, saturation_check
from closedcup.mixtures.pure_estimates import class_lines, form_errors
from closedcup.mixtures.pure_values import consensus_of
from closedcup.mixtures.tables import bibliography, table

KNOWN = ("source", "known")
Row = tuple[object, ...]
FAMILY_COLUMNS = (
    "family", "liquids", "mean_c", "within_95_c", "supported", "within_95_supported_c", *KNOWN
)  # fmt: skip


def write_rows(
    name: str, columns: Iterable[str], rows: Iterable[Row], *, by_cas: bool = True
) -> None:
    lines = [_line(row) for row in rows]
    text = "".join([_line(tuple(columns)), *(sorted(lines) if by_cas else lines)])
    (DATA / name).write_text(text, encoding="utf-8", newline="")
    print(f"wrote {name}: {len(lines)} rows, {len(text.encode()) / 1000:.0f} kB")


def _line(row: Row) -> str:
    line = io.StringIO()
    cells = [f"{cell:.10g}" if isinstance(cell, float) else cell for cell in row]
    csv.writer(line, lineterminator="\n").writerow(cells)
    return line.getvalue()


def role(cas: str) -> str:
    """Say how a liquid enters the sum: water dilutes only; halogens mask, so no sum is made."""
    if cas == "7732-18-5":
        return "inert"
    elements = set(properties.atoms(identity(cas).formula))
    return "halogenated" if structure.HALOGENS & elements else "flammable"


def named(further: list[str]) -> dict[str, list[str]]:
    """Give every liquid its names; a name that is another liquid's own is left out.

    A further liquid all of whose names are taken is left out of the catalogue.
    """
    by_hand = selection.chosen_by_hand()
    found = {
        cas: names.names_of_chosen(cas, row["name"], row["synonyms"])
        for cas, row in by_hand.items()
    }
    taken = {_key(name) for every in found.values() for name in every}
    for cas in further:
        free = [name for name in names.names_of(cas) if _key(name) not in taken]
        if free:
            found[cas] = free
            taken.add(_key(free[0]))
    own = {_key(every[0]): cas for cas, every in found.items()}
    for cas, every in found.items():
        known = {_key(name) for name in every}
        every += [name for name in names.common_names().get(cas, ()) if _key(name) not in known]
    return {
        cas: [name for name in every if cas in by_hand or own.get(_key(name), cas) == cas]
        for cas, every in found.items()
    }


def _key(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def liquid_row(cas: str, every: list[str]) -> Row:
    meta = identity(cas)
    molar_mass = chemicals.molecular_weight(chemicals.nested_formula_parser(meta.formula))
    by_hand = cas in selection.chosen_by_hand()
    source = "chemicals + names-chosen" if by_hand else "chemicals + crc-organic"
    if not by_hand and cas in names.common_names():
        source += " + names-chosen"
    return (
        cas, every[0], role(cas), ";".join(every[1:]), meta.formula, round(molar_mass, 4),
        structure.chemical_class(meta.smiles), f"{source} + structure-rules", "package",
    )  # fmt: skip


def vapour_pressure_row(cas: str, flashes: list[Row]) -> Row | None:
    values = sorted(float(str(row[1])) for row in flashes if not row[4])
    flash_k = values[len(values) // 2] + KELVIN if values else 298.15
    return properties.vapour_pressure(cas, flash_k)


def group_row(cas: str) -> Row | None:
    original, dortmund = (groups(cas, model) for model in ("UNIFAC", "MODIFIED_UNIFAC"))
    if not original and not dortmund:
        return None
    return cas, _counts(original), _counts(dortmund), "ddbst-groups", "package"


def _counts(found: dict[int, int]) -> str:
    return " ".join(f"{group}:{count}" for group, count in sorted(found.items()))


def hazard_rows(cas: str, name: str) -> Iterable[Row]:
    """Hazards by rule, for liquids that nobody has looked at by hand."""
    if cas in selection.chosen_by_hand():
        return
    for hazard, because in structure.hazards(identity(cas).smiles):
        yield cas, name, hazard, because, "structure-rules", "memory"
    boiling = properties.boiling_point_k(cas)
    if boiling and boiling[0] - KELVIN < 15:
        because = f"boils at {boiling[0] - KELVIN:.1f} °C"
        yield cas, name, "pressurised", because, boiling[1], "package"


def write_pure_tables() -> list[Row]:
    every = named(selection.further_liquids())
    flashes = {cas: list(flash.flash_rows(cas)) for cas in every}
    pressures = (vapour_pressure_row(cas, flashes[cas]) for cas in every)
    write_rows(
        "liquids.csv",
        ("cas", "name", "role", "synonyms", "formula", "molar_mass_g_mol", "class", *KNOWN),
        (liquid_row(cas, found) for cas, found in every.items()),
    )
    write_rows(
        "properties.csv",
        ("cas", "property", "value", *KNOWN),
        (row for cas in every for row in properties.property_rows(cas)),
    )
    write_rows(
        "vapour_pressure.csv",
        ("cas", "equation", "c1", "c2", "c3", "c4", "c5", "c6", "low_k", "high_k", *KNOWN),
        (row for row in pressures if row),
    )
    write_rows(
        "unifac_assignments.csv",
        ("cas", "original", "dortmund", *KNOWN),
        (row for cas in every if (row := group_row(cas))),
    )
    write_rows(
        "hazards_by_structure.csv",
        ("cas", "name", "hazard", "because", *KNOWN),
        (row for cas, found in every.items() for row in hazard_rows(cas, found[0])),
    )
    return [row for rows in flashes.values() for row in rows]


def write_flash_points(rows: list[Row]) -> None:
    columns = ("cas", "value_c", "cup", "family", "rejected", *KNOWN)
    write_rows("flash_points.csv", columns, rows)
    reload_tables()


def reload_tables() -> None:
    """Forget what was read, so that the next reading sees the tables just written."""
    for cached in (
        table,
        bibliography,
        catalogue,
        family_widths,
        form_errors,
        class_lines,
        bands,
        limit_errors,
    ):
        cached.cache_clear()


def write_measured() -> None:
    """Write what is measured on the consensus values: errors, widths, the band of saturation."""
    columns = (
        "form", "class", "liquids", "mean_error_c", "bias_c", "within_95_c", "largest_c", *KNOWN
    )  # fmt: skip
    errors = measured.form_errors(list(catalogue().values()))
    write_rows("pure_estimate_errors.csv", columns, errors)
    reload_tables()
    known = list(catalogue().values())
    write_rows("flash_families.csv", FAMILY_COLUMNS, flash.family_widths(known))
    write_limits(known)
    reload_tables()


def write_limits(known: list[Liquid]) -> None:
    columns = ("form", "class", "liquids", "median_ratio", "factor_95", *KNOWN)
    errors = measured.limit_errors(known)
    write_rows("flammable_limit_errors.csv", columns, errors, by_cas=False)
    limit_errors.cache_clear()
    columns = ("limit", "low", "median", "high", "liquids", *KNOWN)
    write_rows("saturation_band.csv", columns, measured.saturation_bands(known), by_cas=False)


def consensus_row(liquid: Liquid) -> Row | None:
    found = consensus_of(liquid)
    if found is None:
        return None
    check = saturation_check(liquid, found.value_c)
    saturation = ("", "", "") if check is None else (
        round(check.ratio, 2), check.limit.form, "yes" if check.is_usual else "no"
    )  # fmt: skip
    return (
        liquid.cas, found.value_c, found.half_width_c, found.to_other_cups_c,
        len(found.families), "; ".join(found.outliers), *saturation,
        " + ".join(found.sources), found.known,
    )  # fmt: skip


def write_groups() -> None:
    """Write the groups that the liquids are made of, and their published interactions."""
    used = sorted({group for each in catalogue().values() for group in each.subgroups})
    mains = sorted({unifac.UFSG[group].main_group_id for group in used})
    write_rows(
        "unifac_subgroups.csv",
        ("subgroup", "name", "main_group", "r", "q", *KNOWN),
        (
            (i, g.group, g.main_group_id, float(g.R), float(g.Q), "unifac-original", "package")
            for i, g in ((i, unifac.UFSG[i]) for i in used)
        ),
        by_cas=False,
    )
    unifac.load_unifac_ip()
    write_rows(
        "unifac_interactions.csv",
        ("main_group", "with_main_group", "a_k", *KNOWN),
        (
            (m, n, unifac.UFIP[m][n], "unifac-original", "package")
            for m in mains
            for n in mains
            if m != n and n in unifac.UFIP[m]
        ),
        by_cas=False,
    )


def main() -> None:
    rows = write_pure_tables()
    write_rows("flash_families.csv", FAMILY_COLUMNS, [])
    write_flash_points(rows)
    write_measured()
    shelf = catalogue()
    write_flash_points([flash.reject_gross(row, shelf[str(row[0])]) for row in rows])
    write_rows(
        "flash_consensus.csv",
        (
            "cas", "value_c", "half_width_c", "to_other_cups_c", "families", "outliers",
            "saturation_over_limit", "limit", "usual", *KNOWN,
        ),
        (row for each in catalogue().values() if (row := consensus_row(each))),
    )  # fmt: skip
    write_groups()


if __name__ == "__main__":
    main()
