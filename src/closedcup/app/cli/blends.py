"""Commands over many blends: a line, a map, a formulation, an evaporation. Nothing is recorded."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
)

if TYPE_CHECKING:
    from closedcup.app.usecases.liquids.blending import Choices

LiquidName = Annotated[str, typer.Argument(help="A liquid: its name or CAS number.")]
_PANEL = "Calculate"

Components = Annotated[
    list[str],
    typer.Option("-c", "--component", help="NAME=AMOUNT or CAS=AMOUNT; once for each part."),
]
BasisOption = Annotated[str, typer.Option(help="mole, mass or volume.")]
ActivityOption = Annotated[
    str, typer.Option(help="unifac, dortmund or ideal; else by the kind of blend.")
]
ParametersOption = Annotated[
    Path | None, typer.Option(help="TOML file of NRTL, Wilson or UNIQUAC parameters.")
]
OwnOption = Annotated[
    Path | None,
    typer.Option(help="TOML or CSV file of the laboratory's own liquids and flash points."),
]
LevelOption = Annotated[
    list[str] | None,
    typer.Option(help="A flash point to find: “60 degC”; else the limits of GHS."),
]
PictureOption = Annotated[Path | None, typer.Option(help="Draw the picture into this SVG file.")]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for name, command in (
        ("line", line), ("map", ternary), ("formulate", formulate), ("evaporate", evaporate),
    ):  # fmt: skip
        application.command(name, rich_help_panel=_PANEL)(command)


def line(
    first: LiquidName,
    second: LiquidName,
    basis: BasisOption = "mole",
    activity: ActivityOption = "default",
    parameters: ParametersOption = None,
    own: OwnOption = None,
    level: LevelOption = None,
    points: Annotated[int, typer.Option(help="Points on the line, ends included.")] = 101,
    picture: PictureOption = None,
    as_json: AsJson = False,
) -> None:
    """Calculate the flash point of all blends of two liquids; its lowest point and class limits."""
    from closedcup.app.usecases.liquids.blending import line_answer
    from closedcup.quantities import parse_temperature

    answer = line_answer(
        (first, second),
        levels=[parse_temperature(text, where="level") for text in level or ()],
        points=points,
        choices=choices_from(basis, activity, parameters, own),
    )
    if picture is not None:
        _draw_line(answer, picture)
    if as_json:
        print_json(answer)
        return
    one, other = (liquid["name"] for liquid in answer["liquids"])
    lowest = answer["minimum"]
    print_facts(
        f"{one} to {other}, share of {other} by {basis} (calculated, not a test result)",
        [
            (one, degrees(answer["points"][0]["flash_point_c"]) or "none"),
            (other, degrees(answer["points"][-1]["flash_point_c"]) or "none"),
            (
                "lowest, below both",
                lowest and f"{degrees(lowest['flash_point_c'])} at {lowest['share']:.1%}",
            ),
        ],
    )
    every = max(1, (len(answer["points"]) - 1) // 10)
    print_rows(_table(answer["points"][::every]), [("at", other), ("flash", "flash point")])
    print_list(
        "Crossings",
        [
            f"{'rises' if each['rising'] else 'falls'} through {each['level_c']:g} °C at "
            f"{each['share']:.1%}"
            for each in answer["crossings"]
        ],
    )
    print_list("Warnings", answer["warnings"])


def ternary(
    first: LiquidName,
    second: LiquidName,
    third: LiquidName,
    basis: BasisOption = "mole",
    activity: ActivityOption = "default",
    parameters: ParametersOption = None,
    own: OwnOption = None,
    level: LevelOption = None,
    steps: Annotated[int, typer.Option(help="Steps a side: 100 is one per cent.")] = 100,
    picture: PictureOption = None,
    as_json: AsJson = False,
) -> None:
    """Calculate the flash point of all blends of three liquids, with class limits as contours."""
    from closedcup.app.usecases.liquids.blending import map_answer
    from closedcup.quantities import parse_temperature

    answer = map_answer(
        (first, second, third),
        levels=[parse_temperature(text, where="level") for text in level or ()],
        steps=steps,
        choices=choices_from(basis, activity, parameters, own),
    )
    if picture is not None:
        _draw_map(answer, picture)
    if as_json:
        print_json(answer)
        return
    names = [liquid["name"] for liquid in answer["liquids"]]
    lowest = answer["lowest"]
    shares = ", ".join(
        f"{name} {share:.1%}" for name, share in zip(names, lowest["shares"], strict=True)
    )
    print_facts(
        f"Blends of {', '.join(names)} by {basis} (calculated, not a test result)",
        [
            ("blends", len(answer["points"])),
            ("lowest", f"{degrees(lowest['flash_point_c']) or 'none'}: {shares}"),
            ("below all three", "yes" if lowest["below_all_three"] else "no"),
            ("picture", picture),
        ],
    )
    flashes = [point["flash_point_c"] for point in answer["points"]]
    known = [flash for flash in flashes if flash is not None]
    print_list(
        "Share of the blends",
        [
            f"below {level_c:g} °C: {sum(flash < level_c for flash in known) / len(flashes):.1%}"
            for level_c in answer["levels_c"]
        ],
    )
    print_list("Warnings", answer["warnings"])


def formulate(
    component: Components,
    limit: Annotated[str, typer.Option(help="What to keep: “>=60 degC”.")],
    most: Annotated[str | None, typer.Option(help="The most of this liquid.")] = None,
    least: Annotated[str | None, typer.Option(help="The least of this liquid.")] = None,
    basis: BasisOption = "mole",
    activity: ActivityOption = "default",
    parameters: ParametersOption = None,
    own: OwnOption = None,
    as_json: AsJson = False,
) -> None:
    """Find the most, or the least, of a liquid with which a blend keeps a limit."""
    from closedcup.app.usecases.liquids.formulating import formulate_answer
    from closedcup.quantities import parse_amount, parse_limit

    answer = formulate_answer(
        [parse_amount(text) for text in component],
        most=most,
        least=least,
        limit=parse_limit(limit),
        choices=choices_from(basis, activity, parameters, own),
    )
    if as_json:
        print_json(answer)
        return
    margin = answer["with_margin"]
    print_facts(
        f"The {answer['wanted']} {answer['added']} by {basis}, flash point {answer['limit']} "
        "(calculated, not a test result)",
        [
            ("at the limit", _share_text(answer["at_limit"])),
            (
                f"with the margin of {answer['margin_c']:g} °C",
                answer.get("with_margin_refused") if margin is None else _share_text(margin),
            ),
        ],
    )
    print_list(
        f"A calculation may stand in for a test only with the margin and if ({answer['clause']})",
        answer["provided"],
    )
    print_list("Warnings", answer["warnings"])


def evaporate(
    component: Components,
    at: Annotated[str, typer.Option(help="Temperature of the liquid: “20 degC”.")],
    lost: Annotated[
        list[str] | None, typer.Option(help="Share of the mass lost: “5 %”; once for each.")
    ] = None,
    basis: BasisOption = "mole",
    activity: ActivityOption = "default",
    parameters: ParametersOption = None,
    own: OwnOption = None,
    as_json: AsJson = False,
) -> None:
    """Calculate how composition and flash point move as a sample evaporates."""
    from closedcup.app.usecases.liquids.formulating import evaporate_answer
    from closedcup.quantities import parse_amount, parse_fraction, parse_temperature

    shares = lost or ["1 %", "2 %", "5 %", "10 %", "20 %", "50 %"]
    answer = evaporate_answer(
        [parse_amount(text) for text in component],
        at=parse_temperature(at, where="at"),
        lost=[float(parse_fraction(text, where="lost")[0]) for text in shares],
        choices=choices_from(basis, activity, parameters, own),
    )
    if as_json:
        print_json(answer)
        return
    print_facts(f"Evaporation at {answer['at_c']:g} °C (calculated, not a test result)", [])
    names = [liquid["name"] for liquid in answer["liquids"]]
    rows = [
        {
            "lost": f"{point['lost_mass_fraction']:.1%}",
            "flash": degrees(point["flash_point_c"]) or "none",
            "change": "" if point["change_c"] is None else f"{point['change_c']:+.1f} °C",
            **{name: f"{x:.1%}" for name, x in zip(names, point["mass_fractions"], strict=True)},
        }
        for point in answer["points"]
    ]
    print_rows(
        rows,
        [
            ("lost", "mass lost"),
            ("flash", "flash point"),
            ("change", "change"),
            *((name, f"{name}, by mass") for name in names),
        ],
    )
    print_list("Warnings", answer["warnings"])


def choices_from(basis: str, activity: str, parameters: Path | None, own: Path | None) -> "Choices":
    """Return how blends are declared and solved, with what the files named hold."""
    from closedcup.app.usecases.liquids.blending import Choices
    from closedcup.app.usecases.liquids.estimating import own_liquids_from, parameters_from

    return Choices(
        basis=basis,
        activity=activity,
        parameters=None if parameters is None else parameters_from(parameters),
        own=None if own is None else own_liquids_from(own),
    )


def _table(points: list[dict[str, Any]]) -> list[dict[str, str]]:
    return [
        {"at": f"{point['share']:.0%}", "flash": degrees(point["flash_point_c"]) or "none"}
        for point in points
    ]


def _share_text(found: dict[str, Any]) -> str:
    if found["unbounded"]:
        return "any share keeps it"
    interval = "" if found["low_c"] is None else (
        f", {found['low_c']:.1f} to {found['high_c']:.1f} °C"
    )  # fmt: skip
    flash = degrees(found["flash_point_c"]) or "none"
    return f"{100 * found['share']:.4g}% (flash point {flash}{interval})"


def _draw_line(answer: dict[str, Any], file: Path) -> None:
    from closedcup.app.usecases.liquids.blend_pictures import line_picture

    file.write_text(line_picture(answer), encoding="utf-8")


def _draw_map(answer: dict[str, Any], file: Path) -> None:
    from closedcup.app.usecases.liquids.blend_pictures import map_picture

    file.write_text(map_picture(answer), encoding="utf-8")
