"""The command that checks a method's numbers against the laboratory's own copy, one by one."""

import sys
from typing import TYPE_CHECKING, Annotated, Any

import typer

from closedcup.app.cli.arguments import MethodId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, quantity

if TYPE_CHECKING:
    from closedcup.app.opening import OpenLaboratory

_PANEL = "Apparatus and methods"
_LATER, _ENOUGH = "-", "q"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(confirm)


def confirm(
    method: MethodId,
    number: Annotated[str | None, typer.Option(help="The number's name in the list.")] = None,
    value: Annotated[
        str | None, typer.Option(help="As in your own copy, with its unit: “23 degC”.")
    ] = None,
    clause: Annotated[str, typer.Option(help="The clause that says so.")] = "",
    edition: Annotated[str, typer.Option(help="The edition of your copy.")] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Check a method's numbers against your own licensed copy, each once.

    With --number, --value, --clause and --edition it records one; without them it asks for each
    number that is not confirmed yet (about ten minutes for a method), or lists them (--json).
    """
    from closedcup.app.usecases.methods import confirming
    from closedcup.errors import InputError

    with opened(by) as laboratory:
        if number is not None:
            if value is None:
                raise InputError(
                    "value-missing",
                    "Which value does your own copy give?",
                    where=f"{method}, {number}",
                    fix="Add --value with its unit, --clause and --edition.",
                )
            confirming.confirm_number(
                laboratory, method, number, value, clause=clause, edition=edition, key=key
            )
        elif not as_json and sys.stdin.isatty():
            _ask_each(laboratory, method, edition)
        state = confirming.confirmation_state(laboratory, method)
    if as_json:
        print_json(state)
    else:
        _print(state)


def _ask_each(laboratory: "OpenLaboratory", method: str, edition: str) -> None:
    """Ask for every number that is left; what was answered is recorded at once."""
    from closedcup.app.usecases.methods import confirming
    from closedcup.errors import ClosedcupError

    state = confirming.confirmation_state(laboratory, method)
    left = [row for row in state["numbers"] if row["confirmed_at"] is None]
    if not left:
        return
    print_facts(state["name"], [("numbers left", len(left))])
    print_list(
        "For each number",
        [
            "Enter: your copy says the same. Otherwise type its value with the unit.",
            f"“{_LATER}”: leave it for later. “{_ENOUGH}”: stop here; what is done is kept.",
        ],
    )
    edition = edition or typer.prompt("Edition of your own copy")
    clause = ""
    for place, row in enumerate(left, 1):
        shown = f"{row['value']:g} {row['unit'].replace('degC', '°C')}"
        while True:
            asked = f"[{place}/{len(left)}] {row['words']} ({row['number']}, {row['known']})"
            value = typer.prompt(asked, default=shown).strip()
            if value in {_LATER, _ENOUGH}:
                break
            clause = typer.prompt("   clause", default=clause or None).strip()
            try:
                confirming.confirm_number(
                    laboratory, method, row["number"], value, clause=clause, edition=edition
                )
                break
            except ClosedcupError as error:
                print_list("Not recorded", [str(error)])
        if value == _ENOUGH:
            return


def _print(state: dict[str, Any]) -> None:
    words = "confirmed" if state["confirmed"] else f"unconfirmed, {state['left']} numbers left"
    print_facts(state["name"], [("parameters", words)])
    for heading, is_done in (("Checked", True), ("Left", False)):
        rows = [row for row in state["numbers"] if (row["confirmed_at"] is not None) is is_done]
        print_list(heading, [_line(row) for row in rows])


def _line(row: dict[str, Any]) -> str:
    on_file = quantity(row["value"], row["unit"])
    shown = f"{row['words']}: {on_file} ({row['known']}) [{row['number']}]"
    if row["own_copy"] is None:
        return shown
    own = quantity(row["own_copy"], row["unit"])
    said = f"user: {own}" if row["known_in_use"] == "user" else "the same in your copy"
    return f"{shown}: {said}; {row['edition']}, {row['clause']}; {row['by']}"
