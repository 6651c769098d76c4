"""Commands that put something in the place of what was issued: results, reports."""

from pathlib import Path
from typing import Annotated

import typer

from closedcup.app.cli.arguments import ResultId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_rows

_PANEL = "Nonconforming work"

Told = Annotated[
    list[str] | None, typer.Option(help="Who was told, and how; once for each.", show_default=False)
]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(supersede)
    application.command("amend-report", rich_help_panel=_PANEL)(amend_report)
    application.command(rich_help_panel=_PANEL)(reports)


def supersede(
    result_id: ResultId,
    reason: Annotated[str, typer.Option(help="Why it no longer counts.")],
    told: Told = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Supersede a result: it stays on record, and its test may be begun again."""
    from closedcup.app.usecases.results import amending

    with opened(by) as laboratory:
        answer = amending.supersede(laboratory, result_id, reason, tuple(told or ()), key=key)
    if as_json:
        print_json(answer)
    else:
        answer["told"] = ", ".join(answer["told"])
        print_facts(f"Superseded: {result_id}", list(answer.items())[1:])


def amend_report(
    number: Annotated[str, typer.Argument(metavar="NUMBER", help="The report that is replaced.")],
    changes: Annotated[str, typer.Option(help="What changed, and why.")],
    told: Told = None,
    folder: Annotated[Path, typer.Option(help="Where to write the two files.")] = Path(),
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Issue a report anew under a new number; both numbers and what changed are on it."""
    from closedcup.app.usecases.results import amending, reporting

    with opened(by) as laboratory:
        issued = amending.amend_report(laboratory, number, changes, tuple(told or ()), key=key)
        answer = reporting.write_report(laboratory, issued.number, folder)
    if as_json:
        print_json(answer)
    else:
        print_facts(f"Report {issued.number}", list(answer.items()))


def reports(as_json: AsJson = False) -> None:
    """List the reports issued, and which one replaces which."""
    from closedcup.app.usecases.results import amending

    with opened() as laboratory:
        rows = amending.reports(laboratory)
    if as_json:
        print_json(rows)
        return
    columns = [
        ("number", "report"),
        ("result", "result"),
        ("issued_at", "issued"),
        ("replaces", "replaces"),
        ("replaced_by", "replaced by"),
        ("changes", "what changed"),
    ]
    print_rows(rows, columns)
