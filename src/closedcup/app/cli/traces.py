"""The command that reads the trace of a ramp: its rate, its flash, the analyst's value beside."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
    write_file,
)
from closedcup.errors import InputError

_PANEL = "Results and reports"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(trace)


def trace(
    file: Annotated[Path, typer.Argument(help="CSV file of one run.")],
    apparatus: Annotated[str, typer.Option(help="The apparatus that wrote it.")],
    time: Annotated[str | None, typer.Option(help="Its column: “Zeit [s]”.")] = None,
    temperature: Annotated[str | None, typer.Option(help="Column of the cup's probe.")] = None,
    detector: Annotated[str | None, typer.Option(help="Column of the detector, or “none”.")] = None,
    time_unit: Annotated[str | None, typer.Option(help="s, ms, min or h.")] = None,
    temperature_unit: Annotated[str | None, typer.Option(help="degC, degF or K.")] = None,
    decimal: Annotated[str | None, typer.Option(help="comma or point.")] = None,
    method: Annotated[str | None, typer.Option(help="Judge the heating by it.")] = None,
    corrected_for: Annotated[
        str | None,
        typer.Option(help="The pressure with which the apparatus had corrected: “84.6 kPa”."),
    ] = None,
    as_shown: Annotated[
        bool, typer.Option("--as-shown", help="The temperatures are as the cup showed them.")
    ] = False,
    lag: Annotated[str | None, typer.Option(help="How late the detector answers: “2 s”.")] = None,
    lag_half_width: Annotated[
        str | None, typer.Option(help="Half the interval of that, 95 %: “0.5 s”.")
    ] = None,
    series: Annotated[
        str | None, typer.Option(help="Compare with this series; nothing is kept.")
    ] = None,
    result: Annotated[
        str | None, typer.Option(help="Compare with this result and keep the file beside it.")
    ] = None,
    preview: Annotated[bool, typer.Option("--preview", help="Only show how it is read.")] = False,
    picture: Annotated[Path | None, typer.Option(help="Draw it into this SVG file.")] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Find heating rate, dwells and flash in a trace; exit 4 when rate or called value disagree."""
    from closedcup.app.usecases.traces import trace_findings, traces
    from closedcup.app.usecases.traces.trace_corrections import Scale
    from closedcup.quantities import parse_pressure

    named = {
        "time": time,
        "temperature": temperature,
        "detector": "" if detector == "none" else detector,
        "time_unit": time_unit,
        "temperature_unit": temperature_unit,
        "decimal": decimal,
    }
    delay = _lag(lag, lag_half_width)
    scale = Scale(None if corrected_for is None else parse_pressure(corrected_for), as_shown)
    with opened(by) as laboratory:
        content = traces.trace_file(file)
        if preview:
            shown = traces.preview(laboratory, content, apparatus, named, delay)
            print_json(shown) if as_json else _print_preview(shown)
            return
        answer, read = traces.analyse_trace(
            laboratory,
            content,
            apparatus,
            named,
            method_id=method,
            result_id=result,
            series_id=series,
            scale=scale,
            lag=delay,
            key=key,
        )
    if picture is not None:
        write_file(picture, trace_findings.trace_picture(answer, read).encode())
    print_json(answer) if as_json else _print_trace(answer)
    agree = None if answer["called"] is None else answer["called"]["agree"]
    if answer["rate_within"] is False or agree is False:
        raise typer.Exit(4)


def _lag(lag: str | None, half_width: str | None) -> Any:
    """Read how late the detector answers; None where nothing was said."""
    from closedcup.metrology.traces import Lag

    if lag is None and half_width is None:
        return None
    if lag is None:
        raise InputError(
            "lag-missing",
            "A half width was given without the delay.",
            where="lag",
            fix="Add --lag.",
        )
    half_s = 0.0 if half_width is None else _seconds(half_width, "lag half width")
    return Lag(_seconds(lag, "lag"), half_s)


def _seconds(text: str, where: str) -> float:
    """Read a duration; “0 s” too, which says that the detector answers at once."""
    from closedcup.quantities import parse_duration

    return 0.0 if text.replace(" ", "") in {"0s", "0"} else parse_duration(text, where=where).s


def _print_preview(shown: dict[str, Any]) -> None:
    names = shown["headings"]
    print_rows(
        [
            {str(place): cell for place, cell in enumerate(row[: len(names)])}
            for row in shown["rows"]
        ],
        [(str(place), name) for place, name in enumerate(names)],
    )
    mapping = shown["mapping"]
    if mapping is None:
        print_list("Not clear yet", [shown["problem"]])
        return
    print_facts(
        f"{shown['row_count']} rows, {shown['encoding']}; columns {shown['mapping_origin']}",
        [
            ("time", f"{mapping['time']} ({mapping['time_unit']})"),
            ("temperature", f"{mapping['temperature']} ({mapping['temperature_unit']})"),
            ("detector", mapping["detector"] or "none"),
            ("decimal mark", "comma" if mapping["decimal_mark"] == "," else "point"),
        ],
    )


def _print_trace(answer: dict[str, Any]) -> None:
    rate, flash, called = answer["rate"], answer["flash"], answer["called"]
    facts: list[tuple[str, Any]] = [
        ("readings", answer["readings"]),
        ("columns", answer["mapping_origin"]),
        ("heating rate", answer["rate_refused"] if rate is None else _rate_words(rate)),
        ("the method asks", _asked_words(answer)),
        ("flash, as the cup shows", "none found" if flash is None else _flash_words(flash)),
        ("flash, corrected", flash and degrees(flash["corrected_c"])),
        ("detector's delay", _lag_words(answer["mapping"], flash)),
    ]
    if called is not None:
        agreement = {True: "yes", False: "NO", None: "not judged"}[called["agree"]]
        allowed = "" if called["allowed_c"] is None else f" (within {called['allowed_c']:g} °C)"
        facts += [
            ("called by the analyst", degrees(called["cup_c"]) or called["statement"]),
            ("difference", degrees(called["difference_c"], 2)),
            ("they agree", agreement + allowed),
            ("file kept with", answer["kept"] and answer["kept"]["result"]),
        ]
    print_facts(f"Trace {answer['file']} of {answer['apparatus']}", facts)
    print_list(
        "Dwells",
        [
            f"{one['length_s']:.0f} s at {one['cup_c']:.1f} °C, from {one['from_s']:.0f} s"
            for one in answer["dwells"]
        ],
    )
    print_list("Warnings", answer["warnings"])


def _rate_words(rate: dict[str, Any]) -> str:
    return (
        f"{rate['rate_c_per_min']:.2f} °C/min over the last {rate['covers_c']:.1f} °C "
        f"(quarters {rate['slowest_c_per_min']:.2f} to {rate['fastest_c_per_min']:.2f})"
    )


def _asked_words(answer: dict[str, Any]) -> str | None:
    asked, tolerance = answer["rate_asked_c_per_min"], answer["rate_tolerance_c_per_min"]
    if asked is None:
        return None
    within = {True: "within", False: "OUTSIDE", None: "not judged: no tolerance is stated"}
    window = f"{asked:g}" + ("" if tolerance is None else f" ± {tolerance:g}")
    return f"{window} °C/min: {within[answer['rate_within']]}"


def _lag_words(mapping: dict[str, Any], flash: dict[str, Any] | None) -> str | None:
    if mapping["lag_s"] == 0 and mapping["lag_half_width_s"] == 0:
        return None
    words = f"{mapping['lag_s']:g} ± {mapping['lag_half_width_s']:g} s"
    return words if flash is None else f"{words}: {flash['lag_shift_c']:.2f} °C taken off"


def _flash_words(flash: dict[str, Any]) -> str:
    return (
        f"{flash['cup_c']:.1f} °C ({flash['low_cup_c']:.2f} to {flash['high_cup_c']:.2f}, by the "
        f"{flash['found_in']})"
    )
