"""The command that turns repeats into the value that is reported."""

from typing import Annotated

import typer

from closedcup.app.cli.arguments import MethodId
from closedcup.app.cli.printing import AsJson, degrees, print_facts, print_json

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(repeats)


def repeats(
    method: MethodId,
    result: Annotated[
        list[str], typer.Option(help="A corrected result, in order; once for each: “61.2 degC”.")
    ],
    rule: Annotated[str, typer.Option(help="method or “eu duplicate”.")] = "method",
    product: Annotated[str | None, typer.Option(help="Kind of product.")] = None,
    as_json: AsJson = False,
) -> None:
    """Say which value repeats give; exit 4 when another determination is due."""
    from closedcup.app.usecases.methods import repeating
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.quantities import parse_temperature

    answer = repeating.repeats(
        method,
        tuple(parse_temperature(text, where="result") for text in result),
        rule=rule,
        product=product,
        lookup=method_in_use,
    )
    if as_json:
        print_json(answer)
    else:
        print_facts(
            f"Repeats by {answer['method']}",
            [
                ("reported", degrees(answer["reported_c"])),
                ("before rounding", degrees(answer["value_c"], 2)),
                ("they differ by", degrees(answer["difference_c"], 2)),
                ("permitted", degrees(answer["limit_c"], 2)),
                ("mean", degrees(answer["mean_c"], 2)),
                ("lowest", degrees(answer["lowest_c"], 2)),
                ("rule", answer["rule"]),
                ("so", answer["why"]),
            ],
        )
    if answer["another_due"]:
        raise typer.Exit(4)
