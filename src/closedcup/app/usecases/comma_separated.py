"""Read a table that a person made: comma or semicolon, named columns, numbers in each row."""

import csv
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path

from closedcup.errors import InputError

Row = dict[str, str]


def read_rows(path: str) -> list[Row]:
    """Return the rows of a CSV file by column name, in lower case and without blanks.

    Lines that begin with # are left out. Raises InputError for a file that is not there, is not
    text, or has no rows.
    """
    file = Path(path)
    try:
        text = file.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise InputError(
            "file-missing", f"There is no file {path}.", where=path, fix="Check the path."
        ) from None
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(
            "file-unreadable",
            f"{path} is not a text file: {problem}.",
            where=path,
            fix="Save as CSV.",
        ) from problem
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    if len(lines) < 2:
        raise InputError(
            "file-empty",
            f"{path} holds no rows below a line of column names.",
            where=path,
            fix="The first line names the columns; each line below is one row.",
        )
    separator = ";" if lines[0].count(";") > lines[0].count(",") else ","
    reader = csv.DictReader(lines, delimiter=separator)
    return [
        {(key or "").strip().lower(): (value or "").strip() for key, value in row.items() if key}
        for row in reader
    ]


def decimal_in(row: Row, column: str, *, line: int) -> Decimal:
    """Return a row's number; InputError that names the row and the column for anything else."""
    text = row.get(column, "")
    try:
        value = Decimal(text)
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite():
        raise InputError(
            "not-a-number",
            f"“{text}” is not a number." if text else "The number is missing.",
            where=f"row {line}, column {column}",
            fix="Write numbers with a point and without a unit; the column's name holds the unit.",
        )
    return value


def column_among(rows: Sequence[Row], names: Sequence[str], *, where: str) -> str:
    """Return the first of the names that is a column; InputError listing them when none is."""
    for name in names:
        if name in rows[0]:
            return name
    raise InputError(
        "column-missing",
        f"There is no column {' or '.join(names)}; there are: {', '.join(rows[0])}.",
        where=where,
        fix=f"Name the column {names[0]}.",
    )
