"""The command that notes how cold a sample is."""

from typing import Annotated

import typer

from closedcup.app.cli.arguments import SampleId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, degrees, print_facts, print_json

_PANEL = "The bench"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(chill)


def chill(
    sample: SampleId,
    shows: Annotated[
        str | None,
        typer.Option(help="Its temperature as read: “-12 degC”; else: put to chill now."),
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Note that a sample was put to chill, or how cold it is; the day's order reckons with it."""
    from closedcup.app.usecases.desk.chilling import note_chilling
    from closedcup.quantities import parse_temperature

    with opened(by) as laboratory:
        read = None if shows is None else parse_temperature(shows, where="shows")
        answer = note_chilling(laboratory, sample, read, key=key)
    if as_json:
        print_json(answer)
        return
    what = "put to chill" if answer["temperature_c"] is None else degrees(answer["temperature_c"])
    print_facts(f"Sample {sample}", [("noted", what), ("at", answer["noted_at"][11:16])])
