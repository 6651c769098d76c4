"""Write tables of the records to files for other programs."""

from typing import Annotated

import typer

from closedcup.app.cli.opened import opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json

_PANEL = "In and out"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(export)


def export(
    table: Annotated[
        str,
        typer.Argument(
            help="samples, tests, determinations, results, verifications, reference-materials, "
            "apparatus or events."
        ),
    ],
    file: Annotated[str, typer.Argument(help="Ends in .csv, .xlsx, .jsonl or .parquet.")],
    as_json: AsJson = False,
) -> None:
    """Write a table to a file, units in the headings, and beside it what each column means."""
    from rich.progress import Progress, SpinnerColumn, TextColumn

    from closedcup.app.usecases.records import exporting

    shown = Progress(
        SpinnerColumn(), TextColumn("{task.completed:,.0f} rows"), transient=True, disable=as_json
    )
    with opened() as laboratory, shown:
        task = shown.add_task(table, total=None)
        answer = exporting.export_table(
            laboratory, table, file, told=lambda rows: shown.update(task, completed=rows)
        )
    if as_json:
        print_json(answer)
        return
    print_facts(
        "Written",
        [
            ("table", answer["table"]),
            ("rows", answer["rows"]),
            ("file", answer["file"]),
            ("what the columns mean", answer["columns"]),
        ],
    )
