"""Commands for the bench: begin a series, see the next step, record what was done and seen."""

from datetime import datetime
from decimal import Decimal
from typing import Annotated, TypedDict

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows

At = Annotated[str | None, typer.Option("--at", help="When, if not now (ISO 8601 with offset).")]
ObservedBy = Annotated[
    str | None, typer.Option(help="Who saw it, if somebody else enters it afterwards.")
]
Series = Annotated[str, typer.Argument(metavar="SERIES")]
Cup = Annotated[str, typer.Option(help="What the cup shows: “40.5 degC”.")]


_PANEL = "The bench"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(begin)
    application.command(rich_help_panel=_PANEL)(bench)
    application.command("next", rich_help_panel=_PANEL)(next_temperature)
    application.command("set-cup", rich_help_panel=_PANEL)(set_cup)
    application.command(rich_help_panel=_PANEL)(load)
    application.command("start-ramp", rich_help_panel=_PANEL)(start_ramp)
    application.command("check-rate", rich_help_panel=_PANEL)(check_rate)
    application.command(rich_help_panel=_PANEL)(observe)
    application.command(rich_help_panel=_PANEL)(withdraw)
    application.command(rich_help_panel=_PANEL)(deviation)


def begin(
    test_id: Annotated[str, typer.Argument(metavar="TEST")],
    apparatus: Annotated[str, typer.Option(help="The apparatus.")],
    pressure: Annotated[
        str | None, typer.Option(help="Pressure with its unit, if not the one on today's card.")
    ] = None,
    pressure_kind: Annotated[
        str, typer.Option(help="station (read in the laboratory) or “sea level”.")
    ] = "station",
    at: At = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Begin a series of determinations for a planned test."""
    from closedcup.app.usecases import beginning, days
    from closedcup.quantities import parse_pressure

    with opened(by) as laboratory:
        if pressure is None:
            read, kind = days.pressure_of_day(laboratory, apparatus)
        else:
            read, kind = parse_pressure(pressure), pressure_kind
        series = beginning.begin_series(
            laboratory,
            test_id,
            apparatus,
            read,
            pressure_kind=kind,
            key=key,
            observed_at=_moment(at),
        )
    _show(series.id, by, as_json=as_json)


def bench(series: Series, by: By = None, as_json: AsJson = False) -> None:
    """Show where a series stands and what to do next."""
    _show(series, by, as_json=as_json)


def next_temperature(
    series: Series,
    screening: Annotated[
        bool, typer.Option("--screening", help="Search freely: never a method result.")
    ] = False,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Show the next temperature, why, and what is believed of the flash point."""
    from closedcup.app.usecases import advising

    with opened(by) as laboratory:
        answer = advising.next_temperature(laboratory, series, screening=screening)
    if as_json:
        print_json(answer)
        return
    belief = answer["belief"]
    title = "Screening: never a method result" if screening else "As the method says"
    print_facts(
        f"Series {series}. {title}",
        [
            ("next, cup", None if answer["cup_c"] is None else f"{answer['cup_c']:.1f} °C"),
            (
                "chance of a flash",
                None if answer["flash_chance"] is None else f"{answer['flash_chance']:.0%}",
            ),
            (
                "specimens to come",
                None
                if answer["specimens_to_come"] is None
                else f"about {answer['specimens_to_come']:.1f}",
            ),
            (
                "minutes to come",
                None
                if answer["minutes_to_come"] is None
                else f"about {answer['minutes_to_come']:.0f}",
            ),
            (
                "believed, at 101.3 kPa",
                f"{belief['low_corrected_c']:.1f} to {belief['high_corrected_c']:.1f} °C (95 %)",
            ),
            ("from", answer["belief_from"]),
        ],
    )
    print_list("Why", answer["why"])
    print_list("Warnings", answer["warnings"])


def set_cup(
    series: Series,
    cup: Cup,
    at: At = None,
    observed_by: ObservedBy = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that the cup is set to a temperature."""
    from closedcup.app.usecases import benching

    with opened(by) as laboratory:
        benching.set_cup(laboratory, series, _celsius(cup), **_entered(key, at, observed_by))
    _show(series, by, as_json=as_json)


def load(
    series: Series,
    cup: Cup,
    at: At = None,
    observed_by: ObservedBy = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that a fresh specimen was loaded, with what the cup showed."""
    from closedcup.app.usecases import benching

    with opened(by) as laboratory:
        benching.load_specimen(laboratory, series, _celsius(cup), **_entered(key, at, observed_by))
    _show(series, by, as_json=as_json)


def start_ramp(
    series: Series,
    cup: Cup,
    by_hand: Annotated[
        bool, typer.Option("--by-hand", help="The igniter is applied by hand.")
    ] = False,
    at: At = None,
    observed_by: ObservedBy = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that heating at the method's rate began."""
    from closedcup.app.usecases import benching

    with opened(by) as laboratory:
        benching.start_ramp(
            laboratory,
            series,
            _celsius(cup),
            automatic=not by_hand,
            **_entered(key, at, observed_by),
        )
    _show(series, by, as_json=as_json)


def check_rate(
    series: Series,
    rate: Annotated[float, typer.Argument(help="Measured with a clock, in °C per minute.")],
    at: At = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record the heating rate as measured while the ramp is running."""
    from closedcup.app.usecases import benching

    with opened(by) as laboratory:
        benching.check_rate(laboratory, series, rate, key=key, observed_at=_moment(at))
    _show(series, by, as_json=as_json)


def observe(
    series: Series,
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
    at: At = None,
    observed_by: ObservedBy = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record one application of the igniter and what was seen."""
    from closedcup.app.usecases import benching
    from closedcup.quantities import parse_pressure

    with opened(by) as laboratory:
        benching.apply_igniter(
            laboratory,
            series,
            _celsius(cup),
            benching.read_observation(seen),
            detector=None if detector is None else benching.read_detector(detector),
            already_corrected_for=None if corrected_for is None else parse_pressure(corrected_for),
            corrected_by=corrected_by,
            **_entered(key, at, observed_by),
        )
    _show(series, by, as_json=as_json)


def withdraw(
    series: Series,
    entry: Annotated[int, typer.Argument(help="The entry's number in the list.")],
    reason: Annotated[str, typer.Option(help="What was wrong with it.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Withdraw an entry made in error; it stays visible, with the reason."""
    from closedcup.app.usecases import benching

    with opened(by) as laboratory:
        benching.withdraw(laboratory, series, entry, reason, key=key)
    _show(series, by, as_json=as_json)


def deviation(
    series: Series,
    text: Annotated[str, typer.Argument(help="What was not done as the method says.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record a deviation from the method; the report states it."""
    from closedcup.app.usecases import benching

    with opened(by) as laboratory:
        benching.note_deviation(laboratory, series, text, key=key)
    _show(series, by, as_json=as_json)


def _show(series: str, by: str | None, *, as_json: bool) -> None:
    from closedcup.app.usecases import bench_overview

    with opened(by) as laboratory:
        answer = bench_overview.bench_overview(laboratory, series)
    if as_json:
        print_json(answer)
        return
    step = answer["instruction"]
    print_facts(
        f"Series {series}",
        [
            ("test", f"{answer['test']}, {answer['method']}, {answer['asked']}"),
            ("pressure", answer["pressure"]),
            ("now", step["words"]),
            ("cup", None if step["cup_c"] is None else f"{step['cup_c']:.1f} °C"),
            ("specimen", step["specimen"]),
            ("volume", None if step["specimen_ml"] is None else f"{step['specimen_ml']:g} mL"),
            ("dwell", None if step["dwell_s"] is None else f"{step['dwell_s']:g} s"),
            ("ready at", answer["dwell_ends_at"]),
            ("why", step["why"]),
            ("clause", step["clause"]),
        ],
    )
    print_list("Cautions", step["cautions"])
    print_rows(
        answer["entries"],
        [
            ("number", "entry"),
            ("what", "what"),
            ("cup_c", "cup °C"),
            ("seen", "seen"),
            ("detector", "detector"),
            ("by", "by"),
            ("observed_at", "observed at"),
            ("note", ""),
        ],
    )
    print_list("Warnings", answer["warnings"])


def _celsius(text: str) -> Decimal:
    """Keep the digits of a Celsius reading as typed (40.50 stays 40.50); convert the others."""
    from closedcup.quantities import parse_temperature

    typed = parse_temperature(text, where="cup")
    return typed.value if typed.unit == "degC" else Decimal(repr(round(typed.c, 6)))


class _Entered(TypedDict):
    key: str | None
    observed_at: datetime | None
    observed_by: str | None


def _entered(key: str | None, at: str | None, observed_by: str | None) -> _Entered:
    return {"key": key, "observed_at": _moment(at), "observed_by": observed_by}


def _moment(text: str | None) -> datetime | None:
    from closedcup.app.usecases.moments import read_moment

    return None if text is None else read_moment(text)
