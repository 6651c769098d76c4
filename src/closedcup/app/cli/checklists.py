"""The command that answers an item of an apparatus's checklist again."""

from dataclasses import asdict
from typing import Annotated

import typer

from closedcup.app.cli.arguments import ApparatusId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list

_PANEL = "Apparatus and methods"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(answer_again)


def answer_again(
    apparatus: ApparatusId,
    item: Annotated[str, typer.Argument(help="The item's name: closedcup put-into-service.")],
    reason: Annotated[str, typer.Option(help="What was wrong, or what has changed since.")],
    finding: Annotated[str, typer.Option(help="What was found now.")] = "",
    not_done: Annotated[
        bool,
        typer.Option("--not-done", help="It is not as it should be: out of service until it is."),
    ] = False,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Answer an item of the put-into-service checklist again; the earlier answer stays."""
    from closedcup.app.usecases.apparatus import establishing
    from closedcup.laboratory import ServiceAnswer

    answer = ServiceAnswer(item.strip(), done=not not_done, finding=finding.strip())
    with opened(by) as laboratory:
        still_open = establishing.answer_again(laboratory, apparatus, answer, reason, key=key)
    if as_json:
        print_json(
            {
                "apparatus": apparatus,
                "in_service": not still_open,
                "open": [asdict(each) for each in still_open],
            }
        )
        return
    print_facts(f"Apparatus {apparatus}", [("in service", "no" if still_open else "yes")])
    print_list("Still open", [f"{each.id}: {each.what}" for each in still_open])
