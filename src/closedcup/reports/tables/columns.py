"""The tables that can be written out, and what each of their columns means."""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal, cast

Kind = Literal["text", "number", "time", "yes/no"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its key, its heading, its unit as a UCUM code (empty for none), its meaning.

    A temperature is in Cel, a difference of temperatures in K: the degree Celsius of UCUM has an
    offset and would turn a correction of 2 into 275.15.
    """

    key: str
    heading: str
    unit: str
    kind: Kind
    meaning: str

    @property
    def title(self) -> str:
        """Heading with the unit, as it stands on top of the column."""
        return f"{self.heading} [{self.unit}]" if self.unit not in ("", "1") else self.heading


@dataclass(frozen=True, slots=True)
class Table:
    """A table by name, its columns, and its rows by the columns' keys (None: nothing there)."""

    name: str
    columns: tuple[Column, ...]
    rows: Iterable[Mapping[str, Any]]


@cache
def _all_columns() -> dict[str, tuple[Column, ...]]:
    found: dict[str, tuple[Column, ...]] = {}
    text = (files("closedcup.reports.tables") / "data" / "columns.csv").read_text("utf-8")
    for row in csv.DictReader(text.splitlines()):
        kind = cast("Kind", row["kind"])
        column = Column(row["key"], row["heading"], row["unit"], kind, row["meaning"])
        found[row["table"]] = (*found.get(row["table"], ()), column)
    return found


def table_names() -> tuple[str, ...]:
    """Return the names of the tables."""
    return tuple(_all_columns())


def columns_of(name: str) -> tuple[Column, ...]:
    """Return the columns of a table, by its name."""
    return _all_columns()[name]
