"""The command that shows what is known of a liquid."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
)

_PANEL = "Calculate"
_PROPERTIES = {
    "boiling_c": "boiling point",
    "melting_c": "melting point",
    "density_20c_kg_m3": "density at 20 °C",
    "heat_of_vaporisation_25c_kj_mol": "heat of vaporisation at 25 °C",
    "heat_of_combustion_25c_kj_mol": "net heat of combustion of the vapour at 25 °C",
    "lfl_percent": "lower flammable limit",
    "autoignition_c": "autoignition temperature",
}


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(liquid)


def liquid(
    name: Annotated[str, typer.Argument(help="Name, synonym or CAS number.")],
    own: Annotated[
        Path | None,
        typer.Option(help="TOML or CSV file of the laboratory's own liquids and flash points."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show what is known of a liquid, source by source: flash points, hazards, properties."""
    from closedcup.app.usecases.liquids.estimating import own_liquids_from
    from closedcup.app.usecases.liquids.liquids import liquid_answer

    answer = liquid_answer(name, own=None if own is None else own_liquids_from(own))
    if as_json:
        print_json(answer)
        return
    _print_summary(answer)
    print_list("Hazards", [f"{row['hazard']}: {row['note']}" for row in answer["hazards"]])
    print_list("Notes", answer["notes"])
    _print_flash_points(answer)
    _print_properties(answer["properties"])


def _print_properties(properties: dict[str, Any]) -> None:
    print_list(
        "Properties",
        [
            f"{words} {properties[key]['value']:g} {properties[key]['unit']} "
            f"({properties[key]['source']}; {properties[key]['known']})"
            if key in properties
            else f"{words}: not on record"
            for key, words in _PROPERTIES.items()
        ],
    )


def _print_summary(answer: dict[str, Any]) -> None:
    found = answer["flash_point"]
    pressure = answer["vapour_pressure"]
    print_facts(
        f"{answer['name']} ({answer['cas']})",
        [
            ("also", "; ".join(answer["synonyms"])),
            ("formula", f"{answer['formula']}, {answer['molar_mass_g_mol']:g} g/mol"),
            ("class", ", ".join(filter(None, (answer["class"], answer["role"])))),
            ("flash point", found and f"{found['value_c']:g} ± {found['half_width_c']:g} °C"),
            ("which is", found and found["origin"]),
            ("outliers", found and "; ".join(found["outliers"])),
            (
                "by apparatus",
                ", ".join(
                    f"{family} {degrees(value)}"
                    for family, value in answer["flash_point_by_apparatus_c"].items()
                ),
            ),
            ("lower limit", _lower_limit(answer["lower_flammable_limit"])),
            (
                "vapour pressure",
                pressure
                and f"{pressure['equation']}, {pressure['low_c']:.0f} to "
                f"{pressure['high_c']:.0f} °C ({pressure['source']})",
            ),
            ("groups", _groups(answer)),
        ],
    )


def _lower_limit(limit: dict[str, Any] | None) -> str | None:
    if limit is None:
        return None
    says = f"{limit['percent']:.2g} % by volume, {limit['form']}"
    if limit["factor_95"] == 1:
        return f"{says} ({limit['source']})"
    return (
        f"{says} (estimated; 95 % of {limit['liquids']} limits on record lie within a factor of "
        f"{limit['factor_95']:g})"
    )


def _groups(answer: dict[str, Any]) -> str:
    named = (("UNIFAC", "unifac_subgroups"), ("Dortmund", "dortmund_subgroups"))
    return "; ".join(
        f"{name} " + " ".join(f"{group}:{count}" for group, count in answer[key].items())
        for name, key in named
        if answer[key]
    )


def _print_flash_points(answer: dict[str, Any]) -> None:
    if answer["flash_values"]:
        print_rows(
            [{**row, "value_c": degrees(row["value_c"])} for row in answer["flash_values"]],
            [
                ("value_c", "flash point"),
                ("cup", "cup"),
                ("family", "source"),
                ("known", "known"),
                ("rejected", "rejected because"),
            ],
        )
        cited = {row["family"]: row["source"] for row in answer["flash_values"]}
        print_list("Sources", [f"{family}: {source}" for family, source in cited.items()])
    if answer["estimates"]:
        print_rows(
            [
                {
                    **row,
                    "flash_point_c": degrees(row["flash_point_c"]),
                    "half_width_c": f"±{row['half_width_c']:g} °C",
                    "mean": f"{row['mean_error_c']:g} °C",
                    "measured": f"{row['liquids']} liquids ({row['measured_on']})",
                }
                for row in answer["estimates"]
            ],
            [
                ("form", "estimate by"),
                ("flash_point_c", "flash point"),
                ("mean", "mean error"),
                ("half_width_c", "95 % within"),
                ("measured", "measured on"),
            ],
        )
        print_list(
            "They hold for", [f"{row['form']}: {row['holds_for']}" for row in answer["estimates"]]
        )
