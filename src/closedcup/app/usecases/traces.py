"""Analyse the trace of a ramp: its rate against the method's, its flash beside the analyst's.

Nothing is recorded before all was read and computed: then the mapping that a person named, for the
apparatus, and the file itself beside the result.
"""

from dataclasses import asdict
from pathlib import Path
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.citing import in_words
from closedcup.app.usecases.keeping_files import keep_file
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods_on_record import method_of, method_of_series
from closedcup.app.usecases.trace_reader import guess_mapping, read_trace
from closedcup.app.usecases.trace_table import Table, read_table, read_trace_file
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Result
from closedcup.methods import Method
from closedcup.metrology.traces import (
    HeatingRate,
    Plateau,
    Trace,
    TraceFlash,
    find_flash,
    heating_rate,
    plateaus,
)
from closedcup.records.facts import TraceMapping

Answer = dict[str, Any]

_SAME = 1e-9
_USUAL_TOLERANCE_C, _USUAL_PLATEAU_S = 0.2, 60.0
_SHOWN_ROWS = 5


def trace_mapping(
    opened: OpenLaboratory, apparatus: str, table: Table, named: dict[str, str | None]
) -> tuple[TraceMapping, str]:
    """Return how a table is read and why: named by a person, remembered, or guessed."""
    find(opened.state.apparatus, apparatus, "apparatus")
    if any(named.values()):
        return guess_mapping(table, **named), "named"
    remembered = opened.state.trace_mappings.get(apparatus)
    if remembered is not None:
        return remembered, "remembered"
    return guess_mapping(table), "guessed from the headings"


def preview(
    opened: OpenLaboratory, file: Path, apparatus: str, named: dict[str, str | None]
) -> Answer:
    """Show the first rows of a file and how it would be read; nothing is recorded.

    Where that cannot be told, `mapping` is None and `problem` says what to name.
    """
    table = read_table(read_trace_file(file))
    find(opened.state.apparatus, apparatus, "apparatus")
    mapping, origin, problem = None, "unknown", ""
    try:
        mapping, origin = trace_mapping(opened, apparatus, table, named)
    except InputError as error:
        problem = str(error)
    return {
        "file": file.name,
        "encoding": table.encoding,
        "separator": table.separator,
        "headings": list(table.headings),
        "rows": table.rows[:_SHOWN_ROWS],
        "row_count": len(table.rows),
        "mapping": None if mapping is None else asdict(mapping),
        "mapping_origin": origin,
        "problem": problem,
    }


def analyse_trace(
    opened: OpenLaboratory,
    file: Path,
    apparatus: str,
    named: dict[str, str | None],
    *,
    method_id: str | None = None,
    result_id: str | None = None,
    key: str | None = None,
) -> tuple[Answer, Trace]:
    """Return what a trace says, and the trace; remember how it was read, keep it with a result.

    InputError: a file, column, unit or clock that cannot be used, or a result of another apparatus
    or method. Recorded last, so that a refusal leaves the records as they were.
    """
    result = None if result_id is None else find(opened.state.results, result_id, "result")
    method = _method(opened, apparatus, method_id, result)
    content = read_trace_file(file)
    table = read_table(content)
    mapping, origin = trace_mapping(opened, apparatus, table, named)
    trace = read_trace(table, mapping)
    answer: Answer = {
        "file": file.name,
        "apparatus": apparatus,
        "method": None if method is None else method.id,
        "result": result_id,
        "encoding": table.encoding,
        "mapping": asdict(mapping),
        "mapping_origin": origin,
        **_findings(trace, method, result),
    }
    if origin == "named" and opened.state.trace_mappings.get(apparatus) != mapping:
        mapping_key = key and f"{key}/mapping"
        opened.record("trace-mapping-remembered", apparatus, mapping, key=mapping_key)
    answer["kept"] = (
        None
        if result_id is None
        else keep_file(
            opened, result_id, file.name, content, "trace of the ramp", key=key and f"{key}/file"
        )
    )
    return answer, trace


def _method(
    opened: OpenLaboratory, apparatus: str, method_id: str | None, result: Result | None
) -> Method | None:
    """Return the method that the ramp is judged by: the result's own where there is one."""
    if result is None:
        return None if method_id is None else method_of(opened.state, method_id)
    series = opened.state.series[result.series]
    used = method_of_series(opened.state, series)
    if series.apparatus != apparatus:
        raise InputError(
            "apparatus-differs",
            f"Result {result.id} was made on {series.apparatus}, not on {apparatus}.",
            where="apparatus",
            fix=f"Use --apparatus {series.apparatus}, or choose the result of this trace.",
        )
    if method_id is not None and method_of(opened.state, method_id).id != used.id:
        raise InputError(
            "method-differs",
            f"Result {result.id} was made by {used.id}, not by {method_id}.",
            where="method",
            fix="Leave --method out: the result knows its method.",
        )
    return used


def _findings(trace: Trace, method: Method | None, result: Result | None) -> Answer:
    tolerance_c, asked, rate_tolerance = _numbers(method, trace)
    # A ramp at half the method's rate is no plateau.
    least_s = max(_USUAL_PLATEAU_S, 240 * tolerance_c / asked if asked else 0.0)
    stands = plateaus(trace, tolerance_c=tolerance_c, at_least_s=least_s)
    flash = find_flash(trace, from_s=_ramp_begin(stands, float(trace.time_s[-1]) / 2))
    end_s = float(trace.time_s[-1]) if flash is None else flash.low_time_s
    rate, rate_refused = _rate(trace, _ramp_begin(stands, end_s), end_s)
    warnings = [*trace.notes]
    if rate is not None:
        warnings += _odd_rate(rate, asked)
    if flash is None:
        warnings.append(
            f"No flash stands out up to {trace.cup_c.max():.1f} °C in this trace. That is not "
            "“not flammable”: look at the column chosen as detector and at the igniter."
        )
    elif flash.change.correlation > 0.5:
        warnings.append("Neighbouring readings of the signal go together; the interval allows it.")
    within = (
        None
        if rate is None or asked is None or rate_tolerance is None
        else abs(rate.rate_c_per_min - asked) <= rate_tolerance + _SAME
    )
    return {
        "readings": int(trace.time_s.size),
        "from_cup_c": float(trace.cup_c[0]),
        "highest_cup_c": float(trace.cup_c.max()),
        "dwells": [
            {"from_s": one.from_s, "length_s": one.length_s, "cup_c": one.cup_c} for one in stands
        ],
        "rate": None if rate is None else asdict(rate),
        "rate_refused": rate_refused,
        "rate_asked_c_per_min": asked,
        "rate_tolerance_c_per_min": rate_tolerance,
        "rate_within": within,
        "flash": None if flash is None else _flash(flash),
        "called": None if result is None else _called(result, method, flash),
        "warnings": warnings,
        "sources": [] if method is None else _sources(method),
    }


def _numbers(method: Method | None, trace: Trace) -> tuple[float, float | None, float | None]:
    """Return the tolerance of a stand, the rate asked and its tolerance, as far as stated."""
    if method is None:
        return _USUAL_TOLERANCE_C, None, None
    hold, rate, tolerance = (
        method.numbers.get(name) for name in ("hold_tolerance", "ramp_rate", "ramp_rate_tolerance")
    )
    if method.intervals:  # where the rate differs with the temperature, that of the end counts
        highest_c = float(trace.cup_c.max())
        rate = method.interval_rule(highest_c, highest_c).rate or rate
    return (
        _USUAL_TOLERANCE_C if hold is None else hold.value,
        None if rate is None else rate.value,
        None if tolerance is None else tolerance.value,
    )


def _ramp_begin(stands: tuple[Plateau, ...], before_s: float) -> float:
    return max((one.to_s for one in stands if one.to_s < before_s), default=0.0)


def _rate(trace: Trace, from_s: float, to_s: float) -> tuple[HeatingRate | None, str]:
    try:
        return heating_rate(trace, from_s=from_s, to_s=to_s), ""
    except Refused as refused:
        return None, str(refused)


def _odd_rate(rate: HeatingRate, asked: float | None) -> list[str]:
    found = []
    if rate.covers_c < 19:
        found.append(f"The rate rests on {rate.covers_c:.1f} °C; the ramp before it is shorter.")
    times = rate.rate_c_per_min / asked if asked else 1.0
    for factor, hint in ((1.8, "°F"), (1 / 1.8, "°C read as °F"), (60.0, "min"), (1 / 60, "s")):
        if abs(times / factor - 1) < 0.1:
            found.append(f"The rate is {times:.2g} times the method's: is the unit {hint}?")
    return found


def _flash(flash: TraceFlash) -> Answer:
    found = asdict(flash)
    change = found.pop("change")
    return {**found, "signal_height": change["height"], "signal_noise": change["noise"]}


def _called(result: Result, method: Method | None, flash: TraceFlash | None) -> Answer:
    """Compare with what the analyst called, both as the cup showed it."""
    called_c = None if result.observed_cup_c is None else float(result.observed_cup_c)
    compared: Answer = {"statement": result.statement, "cup_c": called_c}
    if called_c is None or flash is None:
        agree = (called_c is None) == (flash is None) if result.kind != "stopped" else None
        return {**compared, "difference_c": None, "allowed_c": None, "agree": agree}
    difference_c = flash.cup_c - called_c
    allowed_c = None
    if method is not None and method.intervals:
        expected_c = result.corrected_c if result.corrected_c is not None else called_c
        allowed_c = method.interval_rule(called_c, expected_c).interval.value
    agree = None if allowed_c is None else abs(difference_c) <= allowed_c + _SAME
    return {**compared, "difference_c": difference_c, "allowed_c": allowed_c, "agree": agree}


def _sources(method: Method) -> list[dict[str, str]]:
    wanted = {"heating rate", "the heating rate may differ by", "interval"}
    return in_words([each for each in method.sources() if each["value_of"] in wanted])


def trace_picture(answer: Answer, trace: Trace) -> str:
    """Return the SVG of a trace with its flash and the stretch that the rate rests on."""
    from closedcup.reports.drawing import svg
    from closedcup.reports.trace_chart import TraceMarks, trace_chart

    rate, flash, called = answer["rate"], answer["flash"], answer["called"]
    marks = TraceMarks(
        rate_s=None if rate is None else (rate["from_s"], rate["to_s"]),
        flash_s=None if flash is None else (flash["low_time_s"], flash["high_time_s"]),
        flash_words="" if flash is None else f"flash {flash['cup_c']:.1f} °C",
        called_cup_c=None if called is None else called["cup_c"],
    )
    detector = None if trace.detector is None else trace.detector.tolist()
    return svg(
        trace_chart(
            trace.time_s.tolist(),
            trace.cup_c.tolist(),
            detector,
            marks=marks,
            title=f"Trace {answer['file']}",
        )
    )
