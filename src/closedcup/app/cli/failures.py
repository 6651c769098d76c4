"""Commands for the register of system failures."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import FailureId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_rows

_PANEL = "Nonconforming work"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (failure, corrective, failures):
        application.command(rich_help_panel=_PANEL)(command)
    application.command("corrective-worked", rich_help_panel=_PANEL)(corrective_worked)


def failure(
    what: Annotated[str, typer.Option(help="What failed: records, backup, clock, network.")],
    immediate: Annotated[str, typer.Option(help="What was done at once.")],
    corrective: Annotated[
        str | None, typer.Option(help="What was done against the cause; may follow later.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Note a failure of the system that keeps the data, and what was done."""
    from closedcup.app.usecases.nonconforming import failures as register_of_failures

    with opened(by) as laboratory:
        answer = register_of_failures.note_failure(laboratory, what, immediate, corrective, key=key)
    _print(answer, as_json)


def corrective(
    failure_id: FailureId,
    action: Annotated[str, typer.Option(help="What was done so that it does not come back.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record the corrective action on a failure."""
    from closedcup.app.usecases.nonconforming import failures as register_of_failures

    with opened(by) as laboratory:
        answer = register_of_failures.take_action(laboratory, failure_id, action, key=key)
    _print(answer, as_json)


def corrective_worked(
    failure_id: FailureId,
    how_seen: Annotated[str, typer.Option(help="How it was seen.")],
    no: Annotated[
        bool, typer.Option("--no", help="It did not work: the failure is open again.")
    ] = False,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record whether the corrective action on a failure worked."""
    from closedcup.app.usecases.nonconforming import failures as register_of_failures

    with opened(by) as laboratory:
        answer = register_of_failures.review_effect(
            laboratory, failure_id, how_seen, effective=not no, key=key
        )
    _print(answer, as_json)


def failures(as_json: AsJson = False) -> None:
    """List the register of system failures."""
    from closedcup.app.usecases.nonconforming import failures as register_of_failures

    with opened() as laboratory:
        rows = register_of_failures.failures(laboratory)
    if as_json:
        print_json(rows)
        return
    columns = [
        ("id", "failure"),
        ("noted_at", "noted"),
        ("what", "what"),
        ("immediate", "at once"),
        ("corrective", "corrective"),
        ("state", "state"),
    ]
    print_rows([row | {"corrective": "; ".join(row["corrective"])} for row in rows], columns)


def _print(answer: dict[str, Any], as_json: bool) -> None:
    if as_json:
        print_json(answer)
    else:
        words = {
            "corrective": "; ".join(answer["corrective"]),
            "effectiveness": "; ".join(each["words"] for each in answer["effectiveness"]),
        }
        facts = list((answer | words).items())
        print_facts(f"Failure {answer['id']}", facts[1:])
