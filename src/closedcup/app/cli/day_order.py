"""The command that orders a day."""

from typing import Annotated

import typer

from closedcup.app.cli.opened import By, opened
from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
)

_PANEL = "The bench"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(day)


def day(
    chilled: Annotated[
        list[str] | None,
        typer.Option(help="A sample that is cold enough to open now; once for each."),
    ] = None,
    analyst: Annotated[
        list[str] | None, typer.Option(help="Who works today (an id); once for each.")
    ] = None,
    room: Annotated[
        str | None, typer.Option(help="Temperature of the room: “20 degC” unless given.")
    ] = None,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Order today's work with times from now; ask again when it went otherwise."""
    from closedcup.app.usecases.planning.ordering_day import order_of_the_day
    from closedcup.quantities import parse_temperature

    with opened(by) as laboratory:
        answer = order_of_the_day(
            laboratory,
            chilled=chilled or (),
            analysts=analyst or (),
            room=None if room is None else parse_temperature(room, where="room"),
        )
    if as_json:
        print_json(answer)
        return
    ends = answer["ends"]
    print_facts(
        "The order of the day", [("from", answer["now"][11:16]), ("ends", ends and ends[11:16])]
    )
    print_rows(
        [
            {
                **one,
                "time": f"{one['begins'][11:16]} to {one['ends'][11:16]}",
                "cup": degrees(one["cup_c"]),
            }
            for one in answer["entries"]
        ],
        [
            ("time", "time"),
            ("what", "what"),
            ("apparatus", "apparatus"),
            ("test", "test"),
            ("sample", "sample"),
            ("cup", "cup"),
            *((("analyst", "analyst"),) if len(answer["analysts"]) > 1 else ()),
            ("why", "why"),
        ],
    )
    print_list(
        "Left out",
        [
            f"{one['test']}: {one['why']}" + (f" ({one['fix']})" if one["fix"] else "")
            for one in answer["left_out"]
        ],
    )
    print_list(
        "Apparatus",
        [
            f"{one['apparatus']}: cup {one['cup_now_known']}; {one['heats_c_per_min']:g} up, "
            f"{one['cools_c_per_min']:g} down, °C/min ({one['rates_from']})"
            for one in answer["apparatus"]
        ],
    )
    print_list("Times", ["Estimates; ask again when it went otherwise."])
