"""Read a trace that an apparatus wrote: any columns, units and decimal mark, nothing guessed twice.

Encoding, separator and decimal mark are told from the file; columns by the names that were given,
remembered, or (last) by what their headings say. A unit that neither heading nor person states is
asked for. Refusals name the row as a spreadsheet counts it.
"""

import re
from datetime import datetime
from decimal import Decimal
from typing import Final

from closedcup.app.usecases.traces.trace_table import CLOCK, ISO, Table
from closedcup.errors import InputError
from closedcup.metrology.traces import Trace, check_trace
from closedcup.quantities import Temperature
from closedcup.records.facts import TraceMapping

TIME_UNITS: Final = {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 0.001}
_UNIT_SPELLINGS: Final = {
    **dict.fromkeys(("s", "sec", "sek", "seconds"), "s"),
    **dict.fromkeys(("min", "minutes"), "min"),
    **dict.fromkeys(("h", "hours"), "h"),
    "ms": "ms",
    **dict.fromkeys(("°c", "degc", "c", "celsius", "º c", "ºc"), "degC"),
    **dict.fromkeys(("°f", "degf", "f", "fahrenheit"), "degF"),
    **dict.fromkeys(("k", "kelvin"), "K"),
}
_TEMPERATURE_UNITS: Final = ("degC", "degF", "K")
_MISSING: Final = frozenset({"", "nan", "na", "n/a", "-", "--", "null", "#n/a"})
_MOST_MISSING: Final = 0.1
"""Share of the rows that may lack a reading; more, and it is not the trace of a run."""
_DAY_S: Final = 86_400.0


def unit_in(heading: str) -> str | None:
    """Return the unit that a heading states: “Zeit [s]”, “T (°F)”, “cup/degC”, “cup, K”."""
    found = re.search(r"(?:[\[(]([^\])]+)[\])]|[/,_ ]([^/,_ \[(]+))\s*$", heading)
    if found is None:
        return None
    return _UNIT_SPELLINGS.get((found[1] or found[2]).strip().lower())


def read_unit(text: str, allowed: tuple[str, ...], *, where: str) -> str:
    """Return the one spelling of a unit as typed; InputError listing those allowed."""
    unit = _UNIT_SPELLINGS.get(text.strip().lower())
    if unit not in allowed:
        raise InputError(
            "unit-unknown",
            f"“{text}” is no unit for the {where}.",
            where=where,
            fix=f"Use one of: {', '.join(allowed)}.",
        )
    return unit


def guess_mapping(
    table: Table,
    *,
    time: str | None = None,
    temperature: str | None = None,
    detector: str | None = None,
    time_unit: str | None = None,
    temperature_unit: str | None = None,
    decimal: str | None = None,
) -> TraceMapping:
    """Return how the file is read: what was named, and for the rest what the headings say.

    An empty detector says that there is none.
    """
    time = _column(table, time, "time", ("time", "zeit", "temps", "hora", "tempo", "elapsed"))
    temperature = _column(
        table, temperature, "temperature", ("temp", "cup", "tiegel", "probe"), besides=(time,)
    )
    words = ("detector", "detektor", "signal", "ionis", "ioniz", "pressure", "druck")
    if detector == "":
        pass  # it was said that there is none
    elif detector is not None or any(_says(name, words) for name in table.headings):
        detector = _column(table, detector, "detector", words, besides=(time, temperature))
    first = _first_filled(table, time)
    clock = bool(CLOCK.fullmatch(first) or ISO.fullmatch(first))
    time_unit = (
        "clock"
        if clock
        else read_unit(time_unit, tuple(TIME_UNITS), where="time")
        if time_unit
        else _stated(time, tuple(TIME_UNITS), "time")
    )
    temperature_unit = (
        read_unit(temperature_unit, _TEMPERATURE_UNITS, where="temperature")
        if temperature_unit
        else _stated(temperature, _TEMPERATURE_UNITS, "temperature")
    )
    columns = [name for name in (None if clock else time, temperature, detector) if name]
    mark = _decimal_mark(table, columns) if decimal is None else _read_decimal(decimal)
    return TraceMapping(time, time_unit, temperature, temperature_unit, detector or "", mark)


def _says(heading: str, words: tuple[str, ...]) -> bool:
    return any(word in heading.lower() for word in words)


def _column(
    table: Table,
    named: str | None,
    what: str,
    words: tuple[str, ...],
    besides: tuple[str, ...] = (),
) -> str:
    if named is not None:
        wanted = " ".join(named.lower().split())
        matches = [name for name in table.headings if " ".join(name.lower().split()) == wanted]
    else:
        free = [name for name in table.headings if name not in besides]
        units = {"time": tuple(TIME_UNITS), "temperature": _TEMPERATURE_UNITS}.get(what, ())
        matches = [name for name in free if _says(name, words)]
        matches = matches or [name for name in free if unit_in(name) in units]
    if len(matches) == 1:
        return matches[0]
    missing = f"There is no column “{named}”." if named else f"Which column is the {what}?"
    raise InputError(
        "column-missing" if not matches else "column-ambiguous",
        missing if not matches else f"{len(matches)} columns could be the {what}.",
        where=what,
        fix=f"Name it: --{what} “…”. The file has: {', '.join(filter(None, table.headings))}.",
    )


def _first_filled(table: Table, column: str) -> str:
    place = table.headings.index(column)
    return next((row[place] for row in table.rows if len(row) > place and row[place]), "")


def _stated(heading: str, allowed: tuple[str, ...], what: str) -> str:
    unit = unit_in(heading)
    if unit in allowed:
        return unit
    raise InputError(
        "unit-missing",
        f"The column “{heading}” does not state its unit.",
        where=what,
        fix=f"Give --{what}-unit: one of {', '.join(allowed)}; a unit is not guessed.",
    )


def _read_decimal(text: str) -> str:
    marks = {"comma": ",", ",": ",", "point": ".", ".": "."}
    if text.strip().lower() not in marks:
        raise InputError(
            "decimal-unknown",
            f"“{text}” is not a decimal mark.",
            where="decimal",
            fix="Use comma or point.",
        )
    return marks[text.strip().lower()]


def _decimal_mark(table: Table, columns: list[str]) -> str:
    places = [table.headings.index(name) for name in columns]
    cells = [row[place] for row in table.rows[:2000] for place in places if len(row) > place]
    comma, point = (any(mark in cell for cell in cells) for mark in ",.")
    if comma and point:
        raise InputError(
            "decimal-ambiguous",
            "Numbers hold points and commas.",
            where="decimal mark",
            fix="Export without marks between thousands, or give --decimal comma or point.",
        )
    return "," if comma else "."


def read_trace(table: Table, mapping: TraceMapping) -> Trace:
    """Return the trace that a table holds; rows without a reading are left out and counted."""
    names = [mapping.time, mapping.temperature, *filter(None, [mapping.detector])]
    absent = [name for name in names if name not in table.headings]
    if absent:
        raise InputError(
            "column-missing",
            f"There is no column “{absent[0]}”.",
            where="columns",
            fix=f"The file has: {', '.join(filter(None, table.headings))}. Name the columns anew.",
        )
    places = [table.headings.index(name) for name in names]
    kept, rows, left_out = [], [], []
    for number, row in enumerate(table.rows, start=table.first_row):
        if not any(row):
            continue
        cells = [row[place] if len(row) > place else "" for place in places]
        if any(cell.lower() in _MISSING for cell in cells):
            left_out.append(number)
            continue
        kept.append(_readings(cells, mapping, names, number))
        rows.append(number)
    _require_few(left_out, len(rows))
    if not rows:
        raise InputError("trace-too-short", "No row holds a reading.", where="rows")
    times, temperatures, *signal = (list(column) for column in zip(*kept, strict=True))
    if mapping.time_unit == "clock":
        times = _past_midnight(times)
    trace = check_trace(times, temperatures, signal[0] if signal else None, rows=rows)
    if not left_out:
        return trace
    note = f"{len(left_out)} rows lack a reading and were left out, the first is row {left_out[0]}."
    return Trace(trace.time_s, trace.cup_c, trace.detector, (note, *trace.notes))


def _readings(cells: list[str], mapping: TraceMapping, names: list[str], row: int) -> list[float]:
    decimals = [
        _number(cell, mapping.decimal_mark, name, row)
        for cell, name in zip(cells[1:], names[1:], strict=True)
    ]
    temperature = Temperature(decimals[0], mapping.temperature_unit).c
    if mapping.time_unit == "clock":
        time_s = _clock_s(cells[0], names[0], row)
    else:
        time = _number(cells[0], mapping.decimal_mark, names[0], row)
        time_s = float(time) * TIME_UNITS[mapping.time_unit]
    return [time_s, temperature, *map(float, decimals[1:])]


def _number(cell: str, mark: str, column: str, row: int) -> Decimal:
    text = cell.replace("\u2212", "-")
    other = "." if mark == "," else ","
    plain = text.replace(mark, ".")
    if other in text or not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", plain):
        raise InputError(
            "not-a-number",
            f"“{cell[:40]}” is not a number with a decimal {'comma' if mark == ',' else 'point'}.",
            where=f"row {row}, column {column}",
            fix="Take out rows that hold words, or give --decimal comma or point.",
        )
    return Decimal(plain)


def _clock_s(cell: str, column: str, row: int) -> float:
    clock = CLOCK.fullmatch(cell)
    if clock is not None:
        if clock[3] is None:  # two parts are minutes and seconds: runs last minutes
            return int(clock[1]) * 60.0 + int(clock[2])
        return int(clock[1]) * 3600.0 + int(clock[2]) * 60 + float(clock[3].replace(",", "."))
    try:
        moment = datetime.fromisoformat(cell.replace(",", "."))
    except ValueError:
        raise InputError(
            "time-unreadable",
            f"“{cell[:40]}” is not a time.",
            where=f"row {row}, column {column}",
            fix="Write hh:mm:ss or 2026-03-02T07:15:00.",
        ) from None
    # Without an offset, clock times are only compared with each other; no zone is guessed.
    zero = datetime(2000, 1, 1, tzinfo=moment.tzinfo)
    return (moment - zero).total_seconds()


def _past_midnight(times: list[float]) -> list[float]:
    """Let a clock that shows hh:mm:ss run on past midnight: from the last hour to the first."""
    days, previous, continued = 0, 0.0, []
    for time in times:
        if previous >= _DAY_S - 3600 and time < 3600 and previous < _DAY_S:
            days += 1
        continued.append(time + days * _DAY_S)
        previous = time
    return continued


def _require_few(left_out: list[int], kept: int) -> None:
    if len(left_out) > _MOST_MISSING * (kept + len(left_out)):
        raise InputError(
            "readings-missing",
            f"{len(left_out)} of {kept + len(left_out)} rows lack a reading (the first is row "
            f"{left_out[0]}).",
            where="rows",
            fix="Export the run again with every column filled, or leave the detector out.",
        )
