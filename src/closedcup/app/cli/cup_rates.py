"""The command that shows and notes how fast an apparatus heats and cools."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import ApparatusId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json
from closedcup.errors import InputError

_PANEL = "Apparatus and methods"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command("cup-rates", rich_help_panel=_PANEL)(cup_rates)


def cup_rates(
    apparatus: ApparatusId,
    heats: Annotated[str | None, typer.Option(help="Heating in a minute: “10 degC”.")] = None,
    cools: Annotated[str | None, typer.Option(help="Cooling in a minute: “2 degC”.")] = None,
    source: Annotated[str, typer.Option(help="What the two rest on, in words.")] = "",
    from_bench: Annotated[
        bool, typer.Option("--from-bench", help="Take what the bench's entries show.")
    ] = False,
    trace: Annotated[
        Path | None, typer.Option(help="Take them from a CSV of the cup heated and cooled.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Show how fast a cup heats and cools, or note it; plans and the day reckon with it."""
    from closedcup.app.usecases.apparatus import cup_rates as usecase
    from closedcup.quantities import parse_difference

    with opened(by) as laboratory:
        if trace is not None:
            found = usecase.rates_from_trace(laboratory, apparatus, trace)
            answer = usecase.note_rates(laboratory, apparatus, *found, key=key)
        elif from_bench:
            found = usecase.rates_from_bench(laboratory, apparatus)
            answer = usecase.note_rates(laboratory, apparatus, *found, key=key)
        elif heats is not None and cools is not None:
            answer = usecase.note_rates(
                laboratory,
                apparatus,
                parse_difference(heats, where="heats").c,
                parse_difference(cools, where="cools").c,
                source,
                key=key,
            )
        elif heats is None and cools is None:
            answer = usecase.rates_on_record(laboratory, apparatus)
        else:
            raise InputError(
                "rate-missing",
                "Only one of the two rates was given.",
                where="heats, cools",
                fix="Give both: --heats “10 degC” --cools “2 degC”, each a minute.",
            )
    print_json(answer) if as_json else _print_rates(answer)


def _print_rates(answer: dict[str, Any]) -> None:
    seen = answer["seen_at_the_bench"]
    print_facts(
        f"Cup of {answer['apparatus']}",
        [
            ("heats", f"{answer['heats_c_per_min']:g} °C/min"),
            ("cools", f"{answer['cools_c_per_min']:g} °C/min"),
            ("from", answer["rates_from"]),
            ("seen at the bench, up", _seen(seen["heats_c_per_min"], seen["moves_up"])),
            ("seen at the bench, down", _seen(seen["cools_c_per_min"], seen["moves_down"])),
        ],
    )


def _seen(rate: float | None, moves: int) -> str:
    if rate is None:
        return f"{moves} moves: too few"
    return f"at least {rate:g} °C/min ({moves} moves)"
