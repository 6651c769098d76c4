"""Open a file as a table: headings and rows, whatever program wrote it, without trusting it."""

import csv
import json
import re
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import IO, Any, Final

from closedcup.errors import InputError

Cell = str | float | bool | date | None

# Larger than any list of a laboratory: refused before anything is read
_TEXT_AT_MOST: Final = 2 << 30
_BOOK_AT_MOST: Final = 200 << 20
_UNPACKED_AT_MOST: Final = 1 << 30
_UNPACKED_RATIO: Final = 200
_ROWS_AT_MOST: Final = 1_000_000
_SNIFFED_LINES: Final = 50
_FORMULA: Final = re.compile(rb"<(?:f|[a-z]+:f)[ >]|table:formula=")


@dataclass(frozen=True, slots=True)
class SourceRow:
    """One row: its number in the file as a person counts it, and its cells by heading."""

    number: int
    cells: dict[str, Cell]


@dataclass(frozen=True, slots=True)
class SourceTable:
    """A file's headings and rows; notices say what a reader should know of how it was read."""

    headings: tuple[str, ...]
    rows: list[SourceRow]
    encoding: str = ""
    separator: str = ""
    sheet: str = ""
    notices: tuple[str, ...] = field(default=())


def open_table(path: Path, *, encoding: str = "", sheet: str = "") -> SourceTable:
    """Read a table; the ending of the file's name says what it is.

    encoding: of a text file, UTF-8 unless given or marked; sheet: of a workbook, the first unless
    given. Raises InputError naming what cannot be read, before anything is done with the rest.
    """
    try:
        size = path.stat().st_size
        match path.suffix.lower():
            case ".csv" | ".tsv" | ".txt":
                _refuse_larger(path, size, _TEXT_AT_MOST)
                return _open_text(path, encoding)
            case ".xlsx" | ".ods":
                _refuse_larger(path, size, _BOOK_AT_MOST)
                return _open_book(path, sheet)
            case ".json" | ".jsonl":
                _refuse_larger(path, size, _BOOK_AT_MOST)
                return _open_json(path)
    except OSError as error:
        raise InputError(
            "file-unreadable",
            f"The file could not be read: {error.strerror or error}.",
            where=str(path),
            fix="Check its name and place.",
        ) from error
    raise InputError(
        "form-unknown",
        f"“{path.name}” is not a kind of file that can be read.",
        where=str(path),
        fix="Save it as .csv, .xlsx, .ods, .json or .jsonl.",
    )


def _refuse_larger(path: Path, size: int, most: int) -> None:
    if size > most:
        raise InputError(
            "file-too-large",
            f"The file has {size / 1e6:,.0f} MB; at most {most / 1e6:,.0f} MB are read.",
            where=str(path),
            fix="Part it; nothing was read.",
        )


def _open_text(path: Path, encoding: str) -> SourceTable:
    chosen = encoding or _marked_encoding(path)
    try:
        with path.open(encoding=chosen, newline="") as file:
            head = "".join(islice(file, _SNIFFED_LINES))
            separator = _separator_of(head)
            file.seek(0)
            table = _table(([*_cells(row)] for row in csv.reader(file, delimiter=separator)), path)
    except UnicodeDecodeError as error:
        raise InputError(
            "encoding-unfit",
            f"The file is not {chosen.removesuffix('-sig')}: byte {error.start} does not fit.",
            where=str(path),
            fix="Say how it is written, for example --encoding cp1252, or save it as UTF-8.",
        ) from error
    except LookupError as error:
        raise InputError(
            "encoding-unknown",
            f"“{chosen}” is no encoding.",
            where="encoding",
            fix="Say utf-8, cp1252, latin-1 or utf-16.",
        ) from error
    except csv.Error as error:
        raise InputError(
            "csv-unreadable", f"This is not CSV: {error}.", where=str(path), fix="Save it again."
        ) from error
    headings, rows = table
    return SourceTable(headings, rows, encoding=chosen, separator=separator)


def _marked_encoding(path: Path) -> str:
    with path.open("rb") as file:
        begins = file.read(2)
    return "utf-16" if begins in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"


def _separator_of(head: str) -> str:
    first = next((line for line in head.splitlines() if line.strip()), "")
    return max(";\t,|", key=first.count)


def _cells(row: list[str]) -> Iterator[Cell]:
    for text in row:
        stripped = text.strip()
        # what an export wrote before a text so that no program takes it for a formula
        guarded = stripped.startswith("'") and stripped[1:2] in ("=", "+", "-", "@")
        yield stripped[1:] if guarded else stripped


def _table(lines: Iterable[list[Cell]], path: Path) -> tuple[tuple[str, ...], list[SourceRow]]:
    """Return headings and rows; the first line with text in it holds the headings."""
    numbered = enumerate(lines, start=1)
    headings: list[str] = []
    for _, line in numbered:
        headings = ["" if cell is None else str(cell).strip() for cell in line]
        if any(headings):
            break
    named = [name for name in headings if name]
    if twice := sorted({name for name in named if named.count(name) > 1}):
        raise InputError(
            "heading-twice",
            f"Two columns are named “{twice[0]}”.",
            where=str(path),
            fix="Give every column a name of its own.",
        )
    rows = []
    for number, line in numbered:
        cells = {name: cell for name, cell in zip(headings, line, strict=False) if name}
        if any(cell not in (None, "") for cell in cells.values()):
            rows.append(SourceRow(number, cells))
        if len(rows) > _ROWS_AT_MOST:
            raise InputError(
                "too-many-rows",
                f"The file has more than {_ROWS_AT_MOST:,} rows.",
                where=str(path),
                fix="Part it; nothing was read.",
            )
    if not rows:
        raise InputError(
            "file-empty",
            "There are no rows below a line of headings.",
            where=str(path),
            fix="The first line names the columns; each line below is one row.",
        )
    return tuple(named), rows


def _open_book(path: Path, sheet: str) -> SourceTable:
    from python_calamine import CalamineError, CalamineWorkbook

    notices = _inspect_archive(path)
    try:
        with CalamineWorkbook.from_path(str(path)) as book:
            names = book.sheet_names
            chosen = sheet or names[0]
            if chosen not in names:
                raise InputError(
                    "sheet-unknown",
                    f"There is no sheet “{chosen}”; there are: {', '.join(names)}.",
                    where=str(path),
                    fix="Name one of them with --sheet.",
                )
            opened = book.get_sheet_by_name(chosen)
            _refuse_merged(opened.merged_cell_ranges, path)
            lines = opened.to_python(skip_empty_area=False)
    except CalamineError as error:
        raise InputError(
            "workbook-unreadable",
            f"This workbook cannot be read: {error}.",
            where=str(path),
            fix="Save it again as .xlsx, without a password.",
        ) from error
    headings, rows = _table(([_book_cell(cell) for cell in line] for line in lines), path)
    if len(names) > 1 and not sheet:
        notices += (f"Read from the first sheet, “{chosen}”, of {len(names)}.",)
    return SourceTable(headings, rows, sheet=chosen, notices=notices)


def _inspect_archive(path: Path) -> tuple[str, ...]:
    """Refuse a workbook that would unpack to more than it can hold; note formulas."""
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
            unpacked = sum(part.file_size for part in parts)
            packed = max(sum(part.compress_size for part in parts), 1)
            if unpacked > _UNPACKED_AT_MOST or unpacked > max(_UNPACKED_RATIO * packed, 10 << 20):
                raise InputError(
                    "workbook-too-large",
                    f"The workbook would unpack to {unpacked / 1e6:,.0f} MB.",
                    where=str(path),
                    fix="Save only the list itself; nothing was read.",
                )
            formulas = sum(
                _count_formulas(archive.open(part))
                for part in parts
                if part.filename.startswith("xl/worksheets/") or part.filename == "content.xml"
            )
    except zipfile.BadZipFile as error:
        raise InputError(
            "workbook-unreadable",
            "This is no workbook.",
            where=str(path),
            fix="Save it again as .xlsx, without a password.",
        ) from error
    if not formulas:
        return ()
    return (f"{formulas} cells hold formulas: what they gave when the file was saved is read.",)


def _count_formulas(part: IO[bytes]) -> int:
    count, tail = 0, b""
    with part:
        while block := part.read(1 << 20):
            # a mark across two blocks is counted once, in the second
            seen = tail + block
            count += sum(found.end() > len(tail) for found in _FORMULA.finditer(seen))
            tail = seen[-40:]
    return count


def _refuse_merged(ranges: Any, path: Path) -> None:
    if ranges:
        (top, left), _ = ranges[0]
        raise InputError(
            "cells-merged",
            f"{len(ranges)} groups of cells are merged, the first in row {top + 1}, column "
            f"{left + 1}.",
            where=str(path),
            fix="Unmerge them, so that each row holds its own values.",
        )


def _book_cell(cell: Any) -> Cell:
    match cell:
        case bool() | float() | datetime() | date():
            return cell
        case int():
            return float(cell)
        case time() | timedelta():
            return str(cell)
        case str():
            return cell.strip()
        case _:
            return None


def _open_json(path: Path) -> SourceTable:
    try:
        text = path.read_text("utf-8-sig")
        if path.suffix.lower() == ".jsonl":
            objects = [json.loads(line) for line in text.splitlines() if line.strip()]
        else:
            objects = json.loads(text)
    except ValueError as error:
        raise _no_json_table(path, str(error)) from error
    listed: Any = objects
    if not isinstance(listed, list) or not all(isinstance(each, dict) for each in listed):
        raise _no_json_table(path, "it is not a list of objects")
    headings = list(dict.fromkeys(str(key) for each in objects for key in each))
    lines: list[list[Cell]] = [list(headings)]
    lines += [[_json_cell(each.get(name)) for name in headings] for each in objects]
    named, rows = _table(lines, path)
    return SourceTable(named, rows, encoding="utf-8")


def _no_json_table(path: Path, why: str) -> InputError:
    return InputError(
        "json-unreadable",
        f"This is not a table in JSON: {why}.",
        where=str(path),
        fix="Write a list of objects, or one object a line in a .jsonl file.",
    )


def _json_cell(value: Any) -> Cell:
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
