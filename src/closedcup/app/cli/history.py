"""The command that tells what happened to one thing."""

from typing import Annotated

import typer

from closedcup.app.cli.opened import opened
from closedcup.app.cli.printing import AsJson, print_json, print_rows


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel="Records and checks")(history)


def history(
    subject: Annotated[
        str, typer.Argument(help="A sample, test, series, result, report, apparatus or person.")
    ],
    known_at: Annotated[
        str | None, typer.Option(help="As it was known at this moment (ISO 8601 with offset).")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell what happened to a sample, a result, an apparatus or a person."""
    from closedcup.app.usecases.moments import read_moment
    from closedcup.app.usecases.records.history import history_of

    with opened() as laboratory:
        told = history_of(
            laboratory, subject, known_at=None if known_at is None else read_moment(known_at)
        )
    if as_json:
        print_json(told)
    else:
        print_rows(
            told,
            [
                ("number", "event"),
                ("observed_at", "observed at"),
                ("by", "by"),
                ("subject", "about"),
                ("what", "what"),
                ("reason", "reason"),
            ],
        )
