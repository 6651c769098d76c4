"""Analyse the trace of a ramp: how its file is read, what it says, what is kept of it.

Nothing is recorded before all was read and computed: then the mapping that a person named, for the
apparatus, and the file itself beside the result.
"""

from dataclasses import asdict, dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import bench
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of, method_of_series
from closedcup.app.usecases.results.keeping_files import keep_file, kept_files
from closedcup.app.usecases.traces.trace_corrections import Scale, as_the_cup_showed
from closedcup.app.usecases.traces.trace_findings import Called, findings
from closedcup.app.usecases.traces.trace_reader import guess_mapping, read_trace
from closedcup.app.usecases.traces.trace_table import Table, read_table, read_trace_file
from closedcup.errors import InputError
from closedcup.laboratory import Result, Series
from closedcup.methods import Method
from closedcup.metrology.traces import Lag, Trace
from closedcup.records.facts import TraceMapping

Answer = dict[str, Any]
Named = dict[str, str | None]

_SHOWN_ROWS: Final = 5
_LONGEST_LAG_S: Final = 120.0
UNSAID: Final = Scale()


@dataclass(frozen=True, slots=True)
class TraceFile:
    """A file as it came."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class _Subject:
    """What a trace belongs to, as far as is said."""

    apparatus: str
    method: Method | None = None
    series: Series | None = None
    result: Result | None = None
    called: Called | None = None


def trace_file(path: Path) -> TraceFile:
    """Read a file; InputError where it cannot be read or is too large."""
    return TraceFile(path.name, read_trace_file(path))


def trace_mapping(
    opened: OpenLaboratory, apparatus: str, table: Table, named: Named, lag: Lag | None = None
) -> tuple[TraceMapping, str]:
    """Return how a table is read and why: named by a person, remembered, or guessed.

    The detector's delay is what was said now, else what was remembered of the apparatus.
    """
    find(opened.state.apparatus, apparatus, "apparatus")
    remembered = opened.state.trace_mappings.get(apparatus)
    if any(value is not None for value in named.values()):
        mapping, origin = guess_mapping(table, **named), "named"
    elif remembered is not None:
        mapping, origin = remembered, "remembered"
    else:
        mapping, origin = guess_mapping(table), "guessed from the headings"
    if lag is not None:
        _refuse_impossible(lag)
    elif remembered is not None:
        lag = Lag(remembered.lag_s, remembered.lag_half_width_s)
    if lag is not None:
        mapping = replace(mapping, lag_s=lag.seconds, lag_half_width_s=lag.half_width_s)
    return mapping, origin


def _refuse_impossible(lag: Lag) -> None:
    if not (0 <= lag.seconds <= _LONGEST_LAG_S and 0 <= lag.half_width_s <= _LONGEST_LAG_S):
        raise InputError(
            "lag-impossible",
            f"A detector that answers {lag.seconds:g} ± {lag.half_width_s:g} s late is not one.",
            where="lag",
            fix=f"Give its delay and half width in seconds, 0 to {_LONGEST_LAG_S:g}.",
        )


def preview(
    opened: OpenLaboratory, file: TraceFile, apparatus: str, named: Named, lag: Lag | None = None
) -> Answer:
    """Show the first rows of a file and how it would be read; nothing is recorded.

    Where that cannot be told, `mapping` is None and `problem` says what to name.
    """
    table = read_table(file.content)
    find(opened.state.apparatus, apparatus, "apparatus")
    mapping, origin, problem = None, "unknown", ""
    try:
        mapping, origin = trace_mapping(opened, apparatus, table, named, lag)
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
    file: TraceFile,
    apparatus: str,
    named: Named,
    *,
    method_id: str | None = None,
    result_id: str | None = None,
    series_id: str | None = None,
    scale: Scale = UNSAID,
    lag: Lag | None = None,
    record: bool = True,
    key: str | None = None,
) -> tuple[Answer, Trace]:
    """Return what a trace says, and the trace; remember how it was read, keep it with a result.

    Without `record` nothing is remembered and kept: to look again at what was. InputError: a file,
    column, unit or clock that cannot be used, a correction that is not stated, or a result of
    another apparatus or method. Recorded last, so that a refusal leaves the records as they were.
    """
    subject = _subject(opened, apparatus, method_id, result_id, series_id)
    table = read_table(file.content)
    mapping, origin = trace_mapping(opened, apparatus, table, named, lag)
    trace = as_the_cup_showed(read_trace(table, mapping), mapping, scale, subject.series)
    known_lag = Lag(mapping.lag_s, mapping.lag_half_width_s)
    kept_with = None if subject.result is None else subject.result.id
    answer: Answer = {
        "file": file.name,
        "apparatus": apparatus,
        "method": None if subject.method is None else subject.method.id,
        "series": None if subject.series is None else subject.series.id,
        "result": kept_with,
        "encoding": table.encoding,
        "mapping": asdict(mapping),
        "mapping_origin": origin,
        "corrected_for_kpa": None if scale.corrected_for is None else scale.corrected_for.kpa,
        **findings(trace, subject.method, subject.series, subject.called, known_lag),
    }
    answer["kept"] = None
    if not record:
        return answer, trace
    is_said = origin == "named" or lag is not None
    if is_said and opened.state.trace_mappings.get(apparatus) != mapping:
        mapping_key = key and f"{key}/mapping"
        opened.record("trace-mapping-remembered", apparatus, mapping, key=mapping_key)
    if kept_with is not None:
        answer["kept"] = _kept(opened, kept_with, file, scale, key)
    return answer, trace


def _kept(
    opened: OpenLaboratory, result_id: str, file: TraceFile, scale: Scale, key: str | None
) -> Answer:
    """Keep a trace beside a result, once: the same bytes are not kept again."""
    digest = sha256(file.content).hexdigest()
    for each in kept_files(opened, result_id):
        if each["sha256"] == digest:
            return {"result": result_id, **each}
    return keep_file(
        opened,
        result_id,
        file.name,
        file.content,
        scale.words,
        key=key and f"{key}/file",
    )


def _subject(
    opened: OpenLaboratory,
    apparatus: str,
    method_id: str | None,
    result_id: str | None,
    series_id: str | None,
) -> _Subject:
    """Return what the ramp is judged by: the result's or series' own method where there is one."""
    ledger = opened.state
    result = None if result_id is None else find(ledger.results, result_id, "result")
    if result is not None:
        series_id = result.series
    if series_id is None:
        method = None if method_id is None else method_of(ledger, method_id)
        return _Subject(apparatus, method)
    series = find(ledger.series, series_id, "series")
    used = method_of_series(ledger, series)
    whose = f"Result {result.id}" if result is not None else f"Series {series.id}"
    if series.apparatus != apparatus:
        raise InputError(
            "apparatus-differs",
            f"{whose} was made on {series.apparatus}, not on {apparatus}.",
            where="apparatus",
            fix=f"Use --apparatus {series.apparatus}, or choose the result of this trace.",
        )
    if method_id is not None and method_of(ledger, method_id).id != used.id:
        raise InputError(
            "method-differs",
            f"{whose} was made by {used.id}, not by {method_id}.",
            where="method",
            fix="Leave --method out: the result knows its method.",
        )
    return _Subject(apparatus, used, series, result, _called(opened, series, result))


def _called(opened: OpenLaboratory, series: Series, result: Result | None) -> Called | None:
    if result is not None:
        cup_c = None if result.observed_cup_c is None else float(result.observed_cup_c)
        is_open = result.kind == "stopped"
        return Called(result.statement, cup_c, result.corrected_c, is_open)
    outcome = bench(opened, series.id).outcome
    if outcome is None:
        return None
    is_open = outcome.kind == "stopped"
    return Called(outcome.text, outcome.observed_cup_c, None, is_open)
