"""How answers are printed: one JSON object, or words for a person."""

import json
import re
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from closedcup.errors import InputError

AsJson = Annotated[
    bool, typer.Option("--json", help="Print one JSON object and nothing else.", show_default=False)
]

console = Console(highlight=False, soft_wrap=True)
_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d)[\d:.]*(?:Z|[+-]\d\d:\d\d)")


def print_json(answer: object) -> None:
    """Print an answer as JSON; NaN and infinities are an error, not a value."""
    typer.echo(json.dumps(answer, ensure_ascii=False, indent=2, allow_nan=False))


def print_facts(title: str, facts: Sequence[tuple[str, Any]]) -> None:
    """Print named facts one below the other; facts that are None are left out."""
    if title:
        console.print(title, style="bold", markup=False)
    grid = Table.grid(padding=(0, 2))
    for name, value in facts:
        if value is not None and value != "":
            grid.add_row(name, _words(value))
    console.print(grid, markup=False)


def print_rows(rows: Sequence[Mapping[str, Any]], columns: Sequence[tuple[str, str]]) -> None:
    """Print rows as a table with the given (key, heading) columns."""
    table = Table(box=None, header_style="bold", pad_edge=False)
    for _, heading in columns:
        table.add_column(heading, overflow="fold")
    for row in rows:
        table.add_row(*("" if row.get(key) is None else _words(row[key]) for key, _ in columns))
    console.print(table, markup=False)


def print_list(heading: str, lines: Sequence[str]) -> None:
    """Print lines under a heading; nothing when there are none."""
    if not lines:
        return
    console.print(f"{heading}:", style="bold", markup=False)
    for line in lines:
        console.print(_indented(line), markup=False)


def _words(value: object) -> str:
    """Write a value for a person: a moment as day and time of the place where it was."""
    return _MOMENT.sub(r"\1 \2", str(value))


def _indented(line: str) -> str:
    """Indent a line, and what of it does not fit a terminal; a file or pipe gets it whole."""
    if not console.is_terminal:
        return f"  {line}"
    return textwrap.fill(
        line,
        console.width,
        initial_indent="  ",
        subsequent_indent="    ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def degrees(value: float | None, decimals: int = 1) -> str | None:
    """Write a temperature for a person."""
    return None if value is None else f"{value:.{decimals}f} °C"


def quantity(value: float, unit: str) -> str:
    """Write a number with its unit for a person: “5.5 °C/min”; a pure number stands alone."""
    if unit == "1":
        return f"{value:g}"
    return f"{value:g} {unit.replace('degC', '°C').replace('1/min', '/min')}"


def write_file(file: Path, content: bytes) -> None:
    """Write a file that was asked for; InputError where it cannot be written."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    except OSError as error:
        raise InputError(
            "file-unwritable",
            f"The file could not be written: {error.strerror or error}.",
            where=str(file),
            fix="Name another place.",
        ) from error


def read_file(file: Path) -> bytes:
    """Read a file that was named; InputError where it cannot be read."""
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputError(
            "file-unreadable",
            f"The file could not be read: {error.strerror or error}.",
            where=str(file),
            fix="Check its name and place.",
        ) from error
