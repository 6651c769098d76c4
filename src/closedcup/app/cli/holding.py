"""Commands that hold an apparatus, a lot or a person, and review the results this flags."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import HoldId, ResultId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, console, print_facts, print_json, print_rows

_PANEL = "Nonconforming work"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (hold, lift, holds):
        application.command(rich_help_panel=_PANEL)(command)
    application.command("let-stand", rich_help_panel=_PANEL)(let_stand)


def hold(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="apparatus, material or person.")],
    subject: Annotated[str, typer.Argument(metavar="ID", help="Of the apparatus, lot or person.")],
    reason: Annotated[str, typer.Option(help="Why the work is in doubt.")],
    since: Annotated[
        str | None,
        typer.Option(help="From when, 2026-02-01; else back to the last good check."),
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Hold an apparatus, a lot of reference material or a person; list the results in doubt."""
    from closedcup.app.usecases.nonconforming import holding

    with opened(by) as laboratory:
        answer = holding.place_hold(laboratory, kind, subject, reason, since=since, key=key)
    _print(answer, as_json)


def lift(
    hold_id: HoldId,
    reason: Annotated[str, typer.Option(help="What removed the doubt.")],
    results_stand: Annotated[
        bool, typer.Option("--results-stand", help="Every result that it flagged stands.")
    ] = False,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Lift a hold; the results that it flagged are reviewed one by one unless they stand."""
    from closedcup.app.usecases.nonconforming import holding

    with opened(by) as laboratory:
        answer = holding.lift_hold(
            laboratory, hold_id, reason, results_stand=results_stand, key=key
        )
    _print(answer, as_json)


def holds(as_json: AsJson = False) -> None:
    """List what is held or out of control, with the results still to be reviewed."""
    from closedcup.app.usecases.nonconforming import holding

    with opened() as laboratory:
        rows = holding.holds(laboratory)
    if as_json:
        print_json(rows)
        return
    for row in rows:
        _print(row, as_json=False)
    if not rows:
        console.print("Nothing was held.", markup=False)


def let_stand(
    result_id: ResultId,
    reason: Annotated[str, typer.Option(help="Why it stands.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that a flagged result was reviewed and stands; else supersede it."""
    from closedcup.app.usecases.desk import overview
    from closedcup.app.usecases.nonconforming import holding

    with opened(by) as laboratory:
        reviewed = holding.let_stand(laboratory, result_id, reason, key=key)
        answer = overview.result_overview(laboratory, result_id)
    if as_json:
        print_json(answer)
    else:
        facts = [("against", ", ".join(reviewed.holds)), ("state", answer["state"])]
        print_facts(f"{result_id} stands", facts)


def _print(answer: dict[str, Any], as_json: bool) -> None:
    if as_json:
        print_json(answer)
        return
    facts = [
        ("why", answer["reason"]),
        ("since", answer["since"]),
        ("held at", answer["held_at"]),
        ("now", "held" if answer["lasts"] else "over"),
        ("results to be reviewed", len(answer["results"])),
    ]
    print_facts(f"{answer['id']}: {answer['kind']} {answer['subject']}", facts)
    columns = [
        ("id", "result"),
        ("sample", "sample"),
        ("statement", "statement"),
        ("report", "report"),
    ]
    if answer["results"]:
        print_rows(answer["results"], columns)
