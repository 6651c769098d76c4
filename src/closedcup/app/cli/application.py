"""The list of commands. Imports only Typer and the standard library at the top: help is quick."""

import typer

from closedcup.app.cli import (
    bench,
    blends,
    calculations,
    catalogue,
    charts,
    choosing,
    confirming,
    day_order,
    days,
    fuels,
    history,
    keeping,
    laboratory,
    liquids,
    meaning,
    records,
    repeating,
    results,
    rounds,
    samples,
    strategies,
    uncertainty,
)

application = typer.Typer(
    name="closedcup",
    help="The working companion of a closed-cup flash point laboratory.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
for part in (
    calculations,
    catalogue,
    liquids,
    choosing,
    repeating,
    blends,
    fuels,
    meaning,
    strategies,
    laboratory,
    charts,
    confirming,
    rounds,
    uncertainty,
    samples,
    day_order,
    days,
    bench,
    results,
    history,
    records,
    keeping,
):
    part.register(application)
