"""Commands for the bench: begin a series, see where it stands and what comes next."""

import contextlib
import math
import time
from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import SeriesId, TestId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
    quantity,
)

At = Annotated[str | None, typer.Option("--at", help="When, if not now (ISO 8601 with offset).")]

PANEL = "The bench"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=PANEL)(begin)
    application.command(rich_help_panel=PANEL)(bench)
    application.command(rich_help_panel=PANEL)(wait)
    application.command("next", rich_help_panel=PANEL)(next_temperature)


def begin(
    test_id: TestId,
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
    from closedcup.app.usecases.bench import beginning, days
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
            observed_at=moment(at),
        )
    show(series.id, by, as_json=as_json)


def bench(series: SeriesId, by: By = None, as_json: AsJson = False) -> None:
    """Show where a series stands and what to do next."""
    show(series, by, as_json=as_json)


def wait(series: SeriesId, by: By = None) -> None:
    """Count the dwell down by the wall clock, then show what to do; Ctrl+C leaves it running."""
    from closedcup.app.usecases.bench import benching

    with opened(by) as laboratory:
        ends_at = benching.bench(laboratory, series).dwell_ends_at
        clock = laboratory.clock
    if ends_at is not None:
        with contextlib.suppress(KeyboardInterrupt):
            count_down(ends_at, clock, time.sleep)
    show(series, by, as_json=False)


def count_down(
    ends_at: datetime, clock: Callable[[], datetime], pause: Callable[[float], None]
) -> None:
    """Print what is left until a moment, second by second, on one line."""
    while (left_s := math.ceil((ends_at - clock()).total_seconds())) > 0:
        typer.echo(f"\r{left_s // 60}:{left_s % 60:02d} left ", nl=False)
        pause(min(1.0, left_s))
    typer.echo("\rThe dwell is over. Apply the igniter.\a")


def next_temperature(
    series: SeriesId,
    screening: Annotated[
        bool, typer.Option("--screening", help="Search freely: never a method result.")
    ] = False,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Show the next temperature, why, and what is believed of the flash point."""
    from closedcup.app.usecases.planning import advising

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
            (
                "cup's rates",
                f"{answer['heats_c_per_min']:g} up, {answer['cools_c_per_min']:g} down °C/min; "
                + answer["rates_from"],
            ),
        ],
    )
    print_list("Why", answer["why"])
    print_list("Warnings", answer["warnings"])


def show(series: str, by: str | None, *, as_json: bool) -> None:
    """Print where a series stands and what to do next."""
    from closedcup.app.usecases.bench import bench_overview

    with opened(by) as laboratory:
        answer = bench_overview.bench_overview(laboratory, series)
    if as_json:
        print_json(answer)
        return
    _print_step(series, answer)
    print_rows(
        [{**row, "at": row["observed_at"][11:19]} for row in answer["entries"]],
        [
            ("number", "entry"),
            ("at", "time"),
            ("what", "what"),
            ("cup_c", "cup °C"),
            ("seen", "seen"),
            ("detector", "detector"),
            ("by", "by"),
            ("note", ""),
        ],
    )
    print_list("Warnings", answer["warnings"])


def _print_step(series: str, answer: dict[str, Any]) -> None:
    step, over = answer["instruction"], answer["outcome"] is not None
    waits = {} if over else step
    print_facts(
        f"Series {series}",
        [
            ("test", f"{answer['test']}, {answer['method']}, {answer['asked']}"),
            ("parameters", None if answer["confirmed"] else "unconfirmed: follow your own copy"),
            ("pressure", answer["pressure"]),
            ("now", step["words"]),
            ("cup", degrees(waits.get("cup_c"))),
            ("specimen", waits.get("specimen")),
            ("volume", quantity(step["specimen_ml"], "mL") if waits else None),
            ("dwell", None if step["dwell_s"] is None else quantity(step["dwell_s"], "s")),
            ("ready at", (answer["dwell_ends_at"] or "")[11:19]),
            ("why", step["why"]),
            ("clause", step["clause"]),
            ("next", f"closedcup result {answer['test']}" if over else None),
        ],
    )
    print_list("Deviations that the report will state", answer["deviations"])
    print_list("Cautions", step["cautions"])


def moment(text: str | None) -> datetime | None:
    """Read when something was observed; None where nothing was typed."""
    from closedcup.app.usecases.moments import read_moment

    return None if text is None else read_moment(text)
