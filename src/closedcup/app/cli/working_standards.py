"""The command that sets the value of a working standard."""

from typing import Annotated

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, degrees, print_facts, print_json

_PANEL = "Apparatus and methods"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command("working-standard", rich_help_panel=_PANEL)(set_value)


def set_value(
    identifier: Annotated[
        str, typer.Argument(metavar="ID", help="An id for the new standard: “WS-1”.")
    ],
    liquid: Annotated[str, typer.Option(help="Which product.")],
    lot: Annotated[str, typer.Option(help="Its lot.")],
    method: Annotated[str, typer.Option(help="The method that its value belongs to.")],
    apparatus: Annotated[str, typer.Option(help="Where it was tested; it must be in control.")],
    result: Annotated[
        list[str], typer.Option(help="Corrected result; once for each, three at least.")
    ],
    expires: Annotated[str, typer.Option(help="Use before: 2027-06-30.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Set the value of a working standard from repeats, and take it into stock."""
    from closedcup.app.usecases.apparatus.working_standards import Product, set_working_standard
    from closedcup.quantities import parse_temperature

    typed = [parse_temperature(text, where="result") for text in result]
    product = Product(identifier, liquid, lot, method, expires)
    with opened(by) as laboratory:
        answer = set_working_standard(laboratory, product, apparatus, typed, key=key)
    if as_json:
        print_json(answer)
        return
    left_out = ", ".join(f"{one:g} °C" for one in answer["left_out_c"])
    print_facts(
        f"Working standard {identifier}",
        [
            ("value", degrees(answer["value_c"], 2)),
            ("standard deviation", degrees(answer["deviation_c"], 2)),
            ("from", f"{answer['results']} results"),
            ("left out as outlier", left_out),
            ("note", answer["note"]),
        ],
    )
