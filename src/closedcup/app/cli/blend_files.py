"""The command that solves a file of any number of blends."""

from pathlib import Path
from typing import Annotated

import typer

from closedcup.app.cli.blends import (
    ActivityOption,
    BasisOption,
    OwnOption,
    ParametersOption,
    choices_from,
)
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(blends)


def blends(
    file: Annotated[
        Path, typer.Argument(help="CSV or Parquet: a column for each liquid, a row for each blend.")
    ],
    output: Annotated[
        Path | None,
        typer.Option(help="Results, .csv or .parquet; else beside the file, named .flash."),
    ] = None,
    basis: BasisOption = "mole",
    activity: ActivityOption = "default",
    parameters: ParametersOption = None,
    own: OwnOption = None,
    normalise: Annotated[bool, typer.Option(help="Divide by the sum when it is not 1.")] = False,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes on this machine; else one for each core.")
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(help="Solve on the workers of a Dask scheduler: tcp://host:8786."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Calculate the flash points of all blends of a file; a broken run is taken up again."""
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        Progress,
        TaskProgressColumn,
        TextColumn,
        TimeRemainingColumn,
    )

    from closedcup.app.usecases.liquids.blend_files import Run, rows_kept, solve_file

    target = output or file.with_name(f"{file.stem}.flash{file.suffix.lower()}")
    console = Console(stderr=True)
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TaskProgressColumn(),
        TimeRemainingColumn(),
    )
    try:
        with Progress(*columns, console=console, transient=True, disable=as_json) as bar:
            task = bar.add_task("blends", total=None)
            answer = solve_file(
                file,
                target,
                choices_from(basis, activity, parameters, own),
                normalise=normalise,
                run=Run(workers=workers, scheduler=scheduler),
                progress=lambda done, total: bar.update(task, completed=done, total=total),
            )
    except KeyboardInterrupt:
        kept = rows_kept(target)
        console.print(
            "Stopped before anything was solved." if not kept else
            f"Stopped; {kept} rows are kept. The same command goes on from there."
        )  # fmt: skip
        raise typer.Exit(130) from None
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
