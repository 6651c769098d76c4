"""Commands that record what was done and seen at the bench, one entry each."""

import inspect
from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, Unpack

import typer

from closedcup.app.cli.arguments import SeriesId
from closedcup.app.cli.bench import PANEL, At, moment, show
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson

if TYPE_CHECKING:
    from closedcup.app.opening import OpenLaboratory
    from closedcup.app.usecases.bench.benching import Entered

Cup = Annotated[str, typer.Option(help="What the cup shows: “40.5 degC”.")]
ObservedBy = Annotated[
    str | None, typer.Option(help="Who saw it, if somebody else enters it afterwards.")
]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for record in (
        set_cup, load, recovered, start_ramp, check_rate, observe, withdraw, deviation, end_series,
    ):  # fmt: skip
        name = record.__name__.replace("_", "-")
        application.command(name, rich_help_panel=PANEL)(_command(record))


def _command(record: Callable[..., object]) -> Callable[..., None]:
    """Return the command of an entry: its own options, then those that every entry has.

    `record` takes the open laboratory, the series, its own options, and how the entry came about.
    """

    def every(
        at: At = None,
        observed_by: ObservedBy = None,
        by: By = None,
        key: Key = None,
        as_json: AsJson = False,
    ) -> dict[str, Any]:
        return {
            "by": by,
            "as_json": as_json,
            "entered": {"key": key, "observed_at": moment(at), "observed_by": observed_by},
        }

    own = list(inspect.signature(record).parameters.values())[1:-1]
    shared = list(inspect.signature(every).parameters.values())
    names = [one.name for one in shared]

    def command(**typed: Any) -> None:
        how = every(**{name: typed.pop(name) for name in names})
        with opened(how["by"]) as laboratory:
            record(laboratory, **typed, **how["entered"])
        show(typed["series"], how["by"], as_json=how["as_json"])

    made: Any = command
    made.__doc__ = record.__doc__
    made.__signature__ = inspect.Signature([*own, *shared])
    made.__annotations__ = {one.name: one.annotation for one in (*own, *shared)}
    return command


def set_cup(
    laboratory: "OpenLaboratory", series: SeriesId, cup: Cup, **entered: Unpack["Entered"]
) -> None:
    """Record that the cup is set to a temperature."""
    from closedcup.app.usecases.bench import benching

    benching.set_cup(laboratory, series, _celsius(cup), **entered)


def load(
    laboratory: "OpenLaboratory", series: SeriesId, cup: Cup, **entered: Unpack["Entered"]
) -> None:
    """Record that a fresh specimen was loaded, with what the cup showed."""
    from closedcup.app.usecases.bench import benching

    benching.load_specimen(laboratory, series, _celsius(cup), **entered)


def recovered(
    laboratory: "OpenLaboratory", series: SeriesId, cup: Cup, **entered: Unpack["Entered"]
) -> None:
    """Record that a cup below room temperature shows its set temperature again after loading."""
    from closedcup.app.usecases.bench import benching

    benching.note_recovery(laboratory, series, _celsius(cup), **entered)


def start_ramp(
    laboratory: "OpenLaboratory",
    series: SeriesId,
    cup: Cup,
    by_hand: Annotated[
        bool, typer.Option("--by-hand", help="The igniter is applied by hand.")
    ] = False,
    **entered: Unpack["Entered"],
) -> None:
    """Record that heating at the method's rate began."""
    from closedcup.app.usecases.bench import benching

    benching.start_ramp(laboratory, series, _celsius(cup), automatic=not by_hand, **entered)


def check_rate(
    laboratory: "OpenLaboratory",
    series: SeriesId,
    rate: Annotated[float, typer.Argument(help="Measured with a clock, in °C per minute.")],
    **entered: Unpack["Entered"],
) -> None:
    """Record the heating rate as measured while the ramp is running."""
    from closedcup.app.usecases.bench import benching

    benching.check_rate(laboratory, series, rate, **entered)


def observe(
    laboratory: "OpenLaboratory",
    series: SeriesId,
    seen: Annotated[
        str,
        typer.Argument(
            help="“no flash”, “flash”, “continuous burning”, “halo only”, “swollen or coloured "
            "flame”, “burning outside the cup”, “igniter out”, “boil-over” or “specimen lost”."
        ),
    ],
    cup: Cup,
    detector: Annotated[
        str | None, typer.Option(help="What the detector said: flash or “no flash”.")
    ] = None,
    corrected_for: Annotated[
        str | None,
        typer.Option(help="The display was already corrected, with this pressure: “84.6 kPa”."),
    ] = None,
    corrected_by: Annotated[str, typer.Option(help="By whom or what.")] = "",
    **entered: Unpack["Entered"],
) -> None:
    """Record one application of the igniter and what was seen."""
    from closedcup.app.usecases.bench import benching
    from closedcup.app.usecases.bench.sights import read_detector, read_observation
    from closedcup.quantities import parse_pressure

    benching.apply_igniter(
        laboratory,
        series,
        _celsius(cup),
        read_observation(seen),
        detector=None if detector is None else read_detector(detector),
        already_corrected_for=None if corrected_for is None else parse_pressure(corrected_for),
        corrected_by=corrected_by,
        **entered,
    )


def withdraw(
    laboratory: "OpenLaboratory",
    series: SeriesId,
    entry: Annotated[int, typer.Argument(help="The entry's number in the list.")],
    reason: Annotated[str, typer.Option(help="What was wrong with it.")],
    **entered: Unpack["Entered"],
) -> None:
    """Withdraw an entry made in error; it stays visible, with the reason."""
    from closedcup.app.usecases.bench import benching

    benching.withdraw(laboratory, series, entry, reason, **entered)


def deviation(
    laboratory: "OpenLaboratory",
    series: SeriesId,
    text: Annotated[str, typer.Argument(help="What was not done as the method says.")],
    **entered: Unpack["Entered"],
) -> None:
    """Record a deviation from the method; the report states it."""
    from closedcup.app.usecases.bench import benching

    benching.note_deviation(laboratory, series, text, **entered)


def end_series(
    laboratory: "OpenLaboratory",
    series: SeriesId,
    reason: Annotated[str, typer.Option(help="Why it ends here, for example “sample used up”.")],
    **entered: Unpack["Entered"],
) -> None:
    """End a series before its method is carried through; the result says what is known."""
    from closedcup.app.usecases.bench import benching

    benching.end_series(laboratory, series, reason, **entered)


def _celsius(text: str) -> Decimal:
    """Keep the digits of a Celsius reading as typed (40.50 stays 40.50); convert the others."""
    from closedcup.quantities import parse_temperature

    typed = parse_temperature(text, where="cup")
    return typed.value if typed.unit == "degC" else Decimal(repr(round(typed.c, 6)))
