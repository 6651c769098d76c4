"""A table as a file: CSV, a workbook, JSON Lines, Parquet. Rows are written as they come."""

import csv
import json
from collections.abc import Callable, Iterator, Mapping
from importlib.util import find_spec
from itertools import islice
from pathlib import Path
from typing import Any, Final

from closedcup.errors import InputError
from closedcup.reports.tables.columns import Column, Table

# A text that begins with one of these is taken for a formula by programs that open CSV files
_BEGINS_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")
_ROWS_TOGETHER: Final = 10_000
# Far below what is measured, far above the noise of binary fractions
_DECIMALS: Final = 9
# What a worksheet takes (common practice of the programs that open one)
_WORKSHEET_ROWS: Final = 1_048_576

Row = Mapping[str, Any]


def write_table(table: Table, path: Path, form: str) -> int:
    """Write a table to a file in one of `FORMATS`; return the number of rows.

    Raises InputError where the form needs a package that is not installed, or has too many rows.
    """
    write, package = FORMATS[form]
    if package and find_spec(package) is None:
        raise InputError(
            "package-missing",
            f"To write {form} files the package {package} is needed, which is not installed.",
            where=str(path),
            fix='Install it with: pip install "closedcup[tables]", or write csv or jsonl.',
        )
    return write(table, path)


def format_of(path: Path) -> str:
    """Return the form that a file's name asks for; InputError for any other name."""
    form = path.suffix.removeprefix(".").lower()
    if form not in FORMATS:
        raise InputError(
            "form-unknown",
            f"“{path.name}” does not say in which form to write.",
            where=str(path),
            fix=f"End the name in one of: {', '.join(f'.{name}' for name in FORMATS)}.",
        )
    return form


def write_dictionary(columns: Mapping[str, tuple[Column, ...]], path: Path) -> None:
    """Write what each column of some tables means, with its unit and kind, as CSV."""
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("table", "key", "heading", "unit (UCUM)", "kind", "meaning"))
        for name, described in columns.items():
            for each in described:
                fields = (name, each.key, each.title, each.unit, each.kind, each.meaning)
                writer.writerow([_harmless(field) for field in fields])


def _harmless(text: str) -> str:
    """Return a text that no program takes for a formula."""
    return f"'{text}" if text.startswith(_BEGINS_FORMULA) else text


def _cell(column: Column, value: Any) -> Any:
    """Return a value as its kind says: a number, yes or no, or text."""
    if value is None or value == "":
        return None
    match column.kind:
        case "number":
            number = round(float(value), _DECIMALS)
            return int(number) if column.unit in ("", "1") and number.is_integer() else number
        case "yes/no":
            return bool(value)
        case _:
            return str(value)


def _cells(table: Table) -> Iterator[list[Any]]:
    for row in table.rows:
        yield [_cell(column, row.get(column.key)) for column in table.columns]


def _write_csv(table: Table, path: Path) -> int:
    count = 0
    # the mark at the beginning tells workbook programs that it is UTF-8
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([column.title for column in table.columns])
        for cells in _cells(table):
            writer.writerow([_csv_field(cell) for cell in cells])
            count += 1
    return count


def _csv_field(cell: Any) -> Any:
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case str():
            return _harmless(cell)
        case _:
            return cell


def _write_json_lines(table: Table, path: Path) -> int:
    count = 0
    keys = [column.key for column in table.columns]
    with path.open("w", encoding="utf-8", newline="\n") as file:
        for cells in _cells(table):
            line = dict(zip(keys, cells, strict=True))
            file.write(json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n")
            count += 1
    return count


def _write_workbook(table: Table, path: Path) -> int:
    from openpyxl import Workbook  # noqa: PLC0415 - an extra, and slow to load
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415

    book = Workbook(write_only=True)
    sheet = book.create_sheet(table.name)
    sheet.freeze_panes = "A2"
    sheet.append([column.title for column in table.columns])
    count = 0
    for cells in _cells(table):
        count += 1
        if count >= _WORKSHEET_ROWS:
            raise InputError(
                "worksheet-full",
                f"A worksheet takes {_WORKSHEET_ROWS:,} rows, and {table.name} has more.",
                where=str(path),
                fix="Write csv, jsonl or parquet.",
            )
        written = []
        for value in cells:
            cell = WriteOnlyCell(sheet, value)
            if isinstance(value, str):
                cell.data_type = "s"  # a text stays a text, whatever it begins with
            written.append(cell)
        sheet.append(written)
    meanings = book.create_sheet("columns")
    meanings.append(["column", "unit (UCUM)", "kind", "meaning"])
    for column in table.columns:
        meanings.append([column.title, column.unit, column.kind, column.meaning])
    book.save(path)
    return count


def _write_parquet(table: Table, path: Path) -> int:
    import pyarrow as pa  # noqa: PLC0415 - an extra, and slow to load
    from pyarrow import parquet  # noqa: PLC0415

    types = {"text": pa.string(), "time": pa.string(), "yes/no": pa.bool_()}
    schema = pa.schema(
        [
            pa.field(
                column.key,
                types.get(column.kind, pa.float64()),
                metadata={"unit": column.unit, "meaning": column.meaning},
            )
            for column in table.columns
        ]
    )
    count, rows = 0, _cells(table)
    with parquet.ParquetWriter(path, schema) as writer:
        while some := list(islice(rows, _ROWS_TOGETHER)):
            columns = [
                pa.array(values, type=field.type)
                for values, field in zip(zip(*some, strict=True), schema, strict=True)
            ]
            writer.write_table(pa.Table.from_arrays(columns, schema=schema))
            count += len(some)
    return count


FORMATS: Final[dict[str, tuple[Callable[[Table, Path], int], str]]] = {
    "csv": (_write_csv, ""),
    "xlsx": (_write_workbook, "openpyxl"),
    "jsonl": (_write_json_lines, ""),
    "parquet": (_write_parquet, "pyarrow"),
}
"""How each form is written, and the package that it needs."""
