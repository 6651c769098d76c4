"""The command that solves a file of any number of blends."""

from pathlib import Path
from typing import Annotated

import typer

from closedcup.app.cli.blends import ActivityOption, BasisOption
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(blends)


def blends(
    file: Annotated[Path, typer.Argument(help="CSV: a column for each liquid, a row for each.")],
    output: Annotated[
        Path | None, typer.Option(help="Results; else beside the file, named .flash.csv.")
    ] = None,
    basis: BasisOption = "mole",
    activity: ActivityOption = "default",
    normalise: Annotated[bool, typer.Option(help="Divide by the sum when it is not 1.")] = False,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes; else one for each core.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Calculate the flash points of all blends of a file; a broken run is taken up again."""
    from rich.console import Console
    from rich.progress import Progress

    from closedcup.app.usecases.blend_files import solve_file
    from closedcup.app.usecases.blending import Choices

    target = output or file.with_name(f"{file.stem}.flash.csv")
    with Progress(console=Console(stderr=True), transient=True, disable=as_json) as bar:
        task = bar.add_task("blends")
        answer = solve_file(
            file,
            target,
            Choices(basis=basis, activity=activity),
            normalise=normalise,
            workers=workers,
            progress=lambda done, total: bar.update(task, completed=done, total=total),
        )
    if as_json:
        print_json(answer)
        return
    print_facts(
        "Calculated flash points (not test results)",
        [
            ("rows", answer["rows"]),
            ("taken up again at row", answer["taken_up_at_row"]),
            ("solved", answer["solved"]),
            ("set aside", f"{answer['rows_set_aside']}, see {answer['set_aside']}"),
            ("results", answer["results"]),
        ],
    )
    print_list("Warnings", answer["warnings"])
