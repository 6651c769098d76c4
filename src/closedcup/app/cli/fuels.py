"""Commands for fuels: a flash point from a distillation curve, contamination from a drop."""

from typing import Annotated

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


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (fuel, contamination):
        application.command(rich_help_panel=_PANEL)(command)


def fuel(
    distillation: Annotated[
        list[str],
        typer.Option("--distillation", help="Percent and temperature: “10=200 degC”; for each."),
    ],
    kind: Annotated[str, typer.Option(help="d86 (by volume) or simulated (by mass).")] = "d86",
    relative_density: Annotated[
        float | None, typer.Option(help="At 15 °C against water, such as 0.84.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Calculate a fuel's flash point from its distillation curve, by several published ways."""
    from closedcup.app.usecases.liquids.fuels import fuel_answer

    answer = fuel_answer(distillation, kind=kind, relative_density=relative_density)
    if as_json:
        print_json(answer)
        return
    print_facts(
        "Calculated flash point of a fuel (not a test result)",
        [
            ("middle of the ways", degrees(answer["flash_point_c"], 0)),
            ("span", f"{answer['low_c']:.0f} to {answer['high_c']:.0f} °C"),
        ],
    )
    print_rows(
        [
            {
                "way": way["way"],
                "flash": degrees(way["flash_point_c"]),
                "error": f"±{way['half_width_c']:g} °C",
                "range": "outside" if way["outside_range"] else "inside",
                "known": source["known"],
            }
            for way, source in zip(answer["ways"], answer["sources"], strict=True)
        ],
        [
            ("way", "way"),
            ("flash", "flash point"),
            ("error", "error"),
            ("range", "its range"),
            ("known", "how known"),
        ],
    )
    print_list("Warnings", answer["warnings"])


def contamination(
    clean: Annotated[str, typer.Option(help="Flash point when clean, corrected: “65 degC”.")],
    found: Annotated[str, typer.Option(help="Flash point found, corrected: “45 degC”.")],
    contaminant: Annotated[str, typer.Option(help="petrol, white spirit or kerosene.")] = "petrol",
    as_json: AsJson = False,
) -> None:
    """Say what a drop in flash point means: contaminated, and where to start next."""
    from closedcup.app.usecases.liquids.fuels import contamination_answer
    from closedcup.quantities import parse_temperature

    answer = contamination_answer(
        clean=parse_temperature(clean, where="clean"),
        found=parse_temperature(found, where="found"),
        contaminant=contaminant,
    )
    if as_json:
        print_json(answer)
        return
    drop = f"{answer['drop_c']:.1f} °C"
    if answer["contaminated"]:
        low, high = answer["volume_fraction_low"], answer["volume_fraction_high"]
        facts = [
            ("drop", drop),
            (answer["contaminant"], f"from {_share(low)} to {_share(high)} by volume"),
            ("what to do", answer["what_to_do"]),
        ]
        print_facts("Contaminated", facts)
    else:
        facts = [("drop", f"{drop}: within what two results differ by")]
        print_facts("No contamination shown", [*facts, ("what to do", answer["what_to_do"])])
    print_list("Warnings", answer["warnings"])


def _share(fraction: float) -> str:
    """Say a share in words that promise no digits."""
    if fraction < 0.001:
        return "a trace"
    return f"some {float(f'{100 * fraction:.1g}'):g} %"
