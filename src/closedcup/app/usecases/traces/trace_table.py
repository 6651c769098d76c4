"""Open a trace's file as a table: its size, its encoding, its separator, its headings and rows."""

import csv
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from closedcup.app.usecases.results.keeping_files import LARGEST_BYTES
from closedcup.errors import InputError

CLOCK: Final = re.compile(r"(\d+):([0-5]?\d)(?::([0-5]?\d(?:[.,]\d+)?))?")
ISO: Final = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d.*")


@dataclass(frozen=True, slots=True)
class Table:
    """A file's headings and rows as text; first_row is the row of the file that rows[0] is."""

    encoding: str
    separator: str
    headings: tuple[str, ...]
    rows: list[list[str]]
    first_row: int


def read_trace_file(file: Path) -> bytes:
    """Return a file's bytes; InputError by its size before anything is read."""
    try:
        size = file.stat().st_size
        if size > LARGEST_BYTES:
            raise InputError(
                "file-too-large",
                f"{file.name} has {size / 1e6:,.0f} MB; a trace of one run has a few.",
                where=str(file),
                fix=f"Export one run, at most {LARGEST_BYTES / 1e6:.0f} MB; nothing was read.",
            )
        return file.read_bytes()
    except OSError as error:
        raise InputError(
            "file-unreadable",
            f"The file could not be read: {error.strerror or error}.",
            where=str(file),
            fix="Check its name and place.",
        ) from error


def read_table(content: bytes) -> Table:
    """Split a file into headings and rows; InputError where it is no table."""
    text, encoding = _decoded(content)
    lines = text.splitlines()
    used = [line for line in lines[:200] if line.strip()]
    separator = max(";\t,|", key=lambda mark: _regular(used, mark))
    cells = [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=separator)]
    for number in range(len(cells) - 1):
        top, below = cells[number], cells[number + 1]
        if len(top) < 2 or any(map(is_reading, top)) or not all(top[:2]):
            continue
        if len(below) >= len(top) and any(map(is_reading, below)):
            return _table(encoding, separator, top, cells, number + 1)
        third = cells[number + 2] if number + 2 < len(cells) else []
        if len(below) == len(top) and len(third) >= len(top) and any(map(is_reading, third)):
            units = [cell.strip("[]() ") for cell in below]
            named = [
                f"{name} [{unit}]" if unit else name for name, unit in zip(top, units, strict=True)
            ]
            return _table(encoding, separator, named, cells, number + 2)
    raise InputError(
        "no-table",
        "There is no line of column names with numbers below it.",
        where="file",
        fix="Export as CSV: one line that names the columns, one line for each reading.",
    )


def _table(
    encoding: str, separator: str, headings: list[str], cells: list[list[str]], first: int
) -> Table:
    while cells and not any(cells[-1]):
        cells.pop()
    return Table(encoding, separator, tuple(headings), cells[first:], first + 1)


def _decoded(content: bytes) -> tuple[str, str]:
    if not content.strip():
        raise InputError("file-empty", "The file is empty.", where="file", fix="Export it again.")
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        candidates = ["utf-16"]
    elif content[1:100:2].count(0) > 25:
        candidates = ["utf-16-le"]
    elif content[0:100:2].count(0) > 25:
        candidates = ["utf-16-be"]
    else:
        candidates = ["utf-8-sig", "cp1252"]
    for encoding in candidates:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text, encoding
    raise InputError(
        "not-text",
        "The file is not text (UTF-8, UTF-16 or Windows-1252).",
        where="file",
        fix="Export the trace as CSV; a spreadsheet's own file is saved as CSV first.",
    )


def _regular(lines: list[str], mark: str) -> int:
    """Count the lines that hold a separator as often as most do; a decimal comma counts less."""
    counts = [line.count(mark) for line in lines]
    usual = max(set(counts) - {0}, key=counts.count, default=0)
    return counts.count(usual) * (1 if mark == "," else 2) if usual else 0


def is_reading(cell: str) -> bool:
    """Say whether a cell holds a number or a time."""
    return bool(
        re.fullmatch(r"[+-]?\d*[.,]?\d+(?:[eE][+-]?\d+)?", cell)
        or CLOCK.fullmatch(cell)
        or ISO.fullmatch(cell)
    )
