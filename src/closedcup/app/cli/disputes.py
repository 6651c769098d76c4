"""Commands for a result that somebody does not accept."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import DisputeId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, degrees, print_facts, print_json, print_rows

_PANEL = "Nonconforming work"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (dispute, settle):
        application.command(rich_help_panel=_PANEL)(command)


def dispute(
    wanted: Annotated[
        str, typer.Argument(metavar="RESULT", help="The result; or a dispute, to see its steps.")
    ],
    reason: Annotated[str, typer.Option(help="What is objected.")] = "",
    raised_by: Annotated[str, typer.Option(help="Who does not accept it.")] = "",
    claimed: Annotated[
        str | None, typer.Option(help="Their own corrected result: “58.5 degC”.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Dispute a result, and say what is due next: repeat on retained sample, referee."""
    from closedcup.app.usecases.nonconforming import disputes
    from closedcup.quantities import parse_temperature

    value = None if claimed is None else parse_temperature(claimed, where="claimed")
    with opened(by) as laboratory:
        if wanted in laboratory.state.disputes:
            answer = disputes.dispute_overview(laboratory, wanted)
        else:
            answer = disputes.raise_dispute(laboratory, wanted, reason, raised_by, value, key=key)
    _print(answer, as_json)


def settle(
    dispute_id: DisputeId,
    reason: Annotated[str, typer.Option(help="How it ended.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Settle a dispute once no step is due."""
    from closedcup.app.usecases.nonconforming import disputes

    with opened(by) as laboratory:
        answer = disputes.settle_dispute(laboratory, dispute_id, reason, key=key)
    _print(answer, as_json)


def _print(answer: dict[str, Any], as_json: bool) -> None:
    if as_json:
        print_json(answer)
        return
    facts = [
        ("raised by", answer["raised_by"]),
        ("reason", answer["reason"]),
        ("their value", degrees(answer["claimed_c"], 2)),
        ("settled", answer["settled"]),
    ]
    print_facts(f"Dispute {answer['id']} about {answer['result']}", facts)
    columns = [("step", "step"), ("state", "state"), ("words", "what"), ("next", "next")]
    print_rows(answer["steps"], columns)
