"""Commands that begin and end a day at an apparatus."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from closedcup.app.cli.arguments import ApparatusId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import (
    AsJson,
    print_facts,
    print_json,
    print_list,
    write_file,
)

if TYPE_CHECKING:
    from closedcup.laboratory import ServiceAnswer
    from closedcup.laboratory.checklist import Checklist

_PANEL = "The bench"

Done = Annotated[
    list[str] | None,
    typer.Option(help="An item that is done; once for each. Without: asked one by one."),
]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command("start-day", rich_help_panel=_PANEL)(start_day)
    application.command("bench-sheet", rich_help_panel=_PANEL)(bench_sheet)
    application.command("close-down", rich_help_panel=_PANEL)(close_down)


def start_day(
    apparatus: ApparatusId,
    pressure: Annotated[str, typer.Option(help="Station pressure now: “84.6 kPa”.")],
    done: Done = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Make the card that begins a day at an apparatus."""
    from closedcup.app.usecases.bench import days
    from closedcup.laboratory.checklist import start_of_day_checklist
    from closedcup.quantities import parse_pressure

    read = parse_pressure(pressure)
    answers = _answers(start_of_day_checklist(), done)
    with opened(by) as laboratory:
        answer = days.start_day(laboratory, apparatus, read, answers, key=key)
    if as_json:
        print_json(answer)
        return
    print_facts(
        f"{answer['day']}: {apparatus} is ready",
        [("pressure", answer["pressure"]), *answer["states"].items()],
    )
    print_list("Warnings", answer["warnings"])


def close_down(
    apparatus: ApparatusId,
    done: Done = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that work at an apparatus ended: gas off, cup clean, waste away."""
    from closedcup.app.usecases.bench import days
    from closedcup.laboratory.checklist import close_down_checklist

    answers = _answers(close_down_checklist(), done)
    with opened(by) as laboratory:
        answer = days.close_down(laboratory, apparatus, answers, key=key)
    if as_json:
        print_json(answer)
    else:
        print_facts(f"{answer['day']}: {apparatus} closed down", [])


def bench_sheet(
    test_id: Annotated[
        str | None, typer.Argument(metavar="[TEST]", help="S-0001-T1; else a blank sheet.")
    ] = None,
    file: Annotated[Path, typer.Option(help="Where to write it.")] = Path("bench-sheet.pdf"),
    as_json: AsJson = False,
) -> None:
    """Write a sheet for a bench without a screen: for a test, or blank."""
    from closedcup.app.usecases.bench import bench_sheets

    with opened() as laboratory:
        document = bench_sheets.sheet_for(laboratory, test_id)
    write_file(file, document)
    if as_json:
        print_json({"file": str(file)})
    else:
        print_facts(f"Bench sheet written: {file}", [])


def _answers(listed: "Checklist", done: list[str] | None) -> "tuple[ServiceAnswer, ...]":
    """Take the answers from the options, or ask one by one at a terminal."""
    from closedcup.laboratory import ServiceAnswer

    if done or not sys.stdin.isatty():
        return tuple(ServiceAnswer(item, done=True) for item in done or ())
    answers = []
    for item in listed.items:
        if item.caution:
            typer.secho(f"  CAUTION: {item.caution}", fg=typer.colors.YELLOW)
        answers.append(ServiceAnswer(item.id, done=typer.confirm(f"{item.what}?")))
    return tuple(answers)
