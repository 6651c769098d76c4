"""Which column fills which field, in which unit, and how numbers and dates are written."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final, cast

from closedcup.app.usecases.importing.cells import (
    DATE_ORDERS,
    DateOrder,
    DecimalMark,
    decimal_mark_of,
    fraction_in,
    moment_in,
    number_in,
    quantity_in,
    text_in,
    unit_in,
    yes_or_no_in,
)
from closedcup.app.usecases.importing.fields import Field, fields_of
from closedcup.app.usecases.importing.table_file import SourceRow, SourceTable
from closedcup.errors import InputError
from closedcup.records.facts import ImportMapping

# What a column is guessed from
_LOOKED_AT: Final = 500
_WITH_NUMBERS: Final = ("number", "temperature", "difference", "volume", "fraction")


def guessed(kind: str, table: SourceTable) -> ImportMapping:
    """Return the mapping that headings and cells suggest, for a person to look at."""
    columns: dict[str, str] = {}
    for field in fields_of(kind):
        meant = [each for each in table.headings if field.is_meant_by(each)]
        if meant and meant[0] not in columns.values():
            columns[field.name] = meant[0]
    units = {name: unit_in(heading) for name, heading in columns.items() if unit_in(heading)}
    numbers = [
        row.cells.get(columns[field.name])
        for field in fields_of(kind)
        if field.type in _WITH_NUMBERS and field.name in columns
        for row in table.rows[:_LOOKED_AT]
    ]
    return ImportMapping(kind, columns, units, decimal_mark_of(numbers), "", table.encoding)


def corrected(
    mapping: ImportMapping,
    *,
    columns: Sequence[str] = (),
    units: Sequence[str] = (),
    decimal: str = "",
    dates: str = "",
) -> ImportMapping:
    """Return a mapping with what a person says of it: FIELD=COLUMN, FIELD=UNIT, marks, order."""
    if decimal not in ("", ".", ","):
        raise InputError(
            "decimal-mark-unknown", f"“{decimal}” parts no decimals.", fix="Say “.” or “,”."
        )
    if dates not in ("", *DATE_ORDERS):
        raise InputError(
            "date-order-unknown",
            f"“{dates}” is no order of a date.",
            where="dates",
            fix=f"Say one of: {', '.join(DATE_ORDERS)}.",
        )
    said = {**mapping.columns, **_pairs(mapping.kind, columns, "map")}
    return replace(
        mapping,
        columns={name: column for name, column in said.items() if column},
        units={**mapping.units, **_pairs(mapping.kind, units, "unit")},
        decimal_mark=decimal or mapping.decimal_mark,
        date_order=dates or mapping.date_order,
    )


def _pairs(kind: str, said: Sequence[str], option: str) -> dict[str, str]:
    names = {field.name for field in fields_of(kind)}
    pairs = {}
    for text in said:
        name, mark, value = text.partition("=")
        if not mark or name.strip() not in names:
            raise InputError(
                "mapping-unreadable",
                f"“{text}” does not say what fills which field.",
                where=f"--{option}",
                fix=f"Say FIELD=…, with one of: {', '.join(sorted(names))}.",
            )
        pairs[name.strip()] = value.strip()
    return pairs


def refuse_unfit(mapping: ImportMapping, table: SourceTable) -> None:
    """Raise InputError where a column is not in the table, or nothing fills what is needed."""
    gone = [column for column in mapping.columns.values() if column not in table.headings]
    if gone:
        raise InputError(
            "column-missing",
            f"There is no column “{gone[0]}”; there are: {', '.join(table.headings)}.",
            where="mapping",
            fix="Say which it is: --map FIELD=COLUMN",
        )
    lacking = [
        field
        for field in fields_of(mapping.kind)
        if field.required and field.name not in mapping.columns
    ]
    if lacking:
        raise InputError(
            "field-unfilled",
            f"No column fills {', '.join(field.name for field in lacking)} "
            f"({lacking[0].meaning}); the columns are: {', '.join(table.headings)}.",
            where="mapping",
            fix=f"Say which does: --map {lacking[0].name}=COLUMN",
        )


def values_of(mapping: ImportMapping, row: SourceRow, now: datetime) -> dict[str, Any]:
    """Return a row's values by field; InputError naming the column that cannot be read.

    Moments without an offset are in that of `now`; one that lies ahead cannot be right.
    """
    values = {}
    for field in fields_of(mapping.kind):
        heading = mapping.columns.get(field.name)
        cell = None if heading is None else row.cells.get(heading)
        if cell is None or cell == "":
            if field.required:
                raise InputError(
                    "value-missing",
                    f"{field.name.replace('_', ' ')} is empty.",
                    where=str(heading),
                    fix="Fill it, or leave the row out.",
                )
            continue
        try:
            values[field.name] = _value(field, cell, mapping, now)
        except InputError as error:
            raise InputError(error.kind, error.what, where=str(heading), fix=error.fix) from error
    return values


def _value(field: Field, cell: Any, mapping: ImportMapping, now: datetime) -> Any:
    mark = cast("DecimalMark", mapping.decimal_mark)
    unit = mapping.units.get(field.name, "")
    match field.type:
        case "text":
            return text_in(cell)
        case "number":
            return number_in(cell, mark)[0]
        case "fraction":
            return fraction_in(cell, unit, mark)
        case "yes/no":
            return yes_or_no_in(cell)
        case "moment":
            moment = moment_in(cell, cast("DateOrder", mapping.date_order), now.tzinfo)
            if datetime.fromisoformat(moment) > now:
                raise InputError(
                    "moment-ahead", f"{moment} lies ahead.", fix="Check the date and its order."
                )
            return moment
        case _:
            return quantity_in(cell, field.type, unit, mark)
