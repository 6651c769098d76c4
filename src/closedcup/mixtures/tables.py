"""Tables by CAS number whose lines are sorted, so that one liquid's rows are found fast.

An estimate needs a few of some two thousand liquids, so a table is read as lines and only the
lines asked for are parsed and checked. `tools/build_liquids.py` writes them sorted.
"""

import csv
from bisect import bisect_left
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from closedcup.errors import Damaged
from closedcup.sources import Bibliography, load_bibliography, parse_known


def data_file(name: str) -> Traversable:
    """Return a table of this part."""
    return files("closedcup.mixtures") / "data" / name


@cache
def bibliography() -> Bibliography:
    """Return the sources that the tables of this part cite."""
    return load_bibliography(data_file("sources.csv"))


def cite(source: str) -> str:
    """Return the citations of one or several sources ("a + b") in words."""
    return " + ".join(bibliography().cite(key) for key in source.split(" + "))


class SortedTable:
    """A CSV file with a header, no line breaks inside cells, and lines in order of code points."""

    def __init__(self, name: str) -> None:
        lines = data_file(name).read_text(encoding="utf-8").splitlines()
        self.name = name
        self.columns = tuple(lines[0].split(","))
        self.lines = lines[1:]

    def rows(self, key: str) -> list[dict[str, str]]:
        """Return the rows with this key, checked as `sources.load_rows` checks them.

        Raises Damaged for a row without a listed source or a known way of knowing.
        """
        start = bisect_left(self.lines, f"{key},")
        end = start
        while end < len(self.lines) and self.lines[end].startswith(f"{key},"):
            end += 1
        return [self._checked(dict(row)) for row in self._parsed(self.lines[start:end])]

    def row(self, key: str) -> dict[str, str] | None:
        """Return the only row with this key, or None."""
        found = self.rows(key)
        return found[0] if found else None

    def all_rows(self) -> list[dict[str, str]]:
        """Return every row, parsed but not checked."""
        return self._parsed(self.lines)

    def _parsed(self, lines: list[str]) -> list[dict[str, str]]:
        return [dict(zip(self.columns, cells, strict=True)) for cells in csv.reader(lines)]

    def _checked(self, row: dict[str, str]) -> dict[str, str]:
        where = f"{self.name}, {row[self.columns[0]]}"
        if not row["source"]:
            raise Damaged("source-empty", "The row has no source.", where=where)
        cite(row["source"])
        parse_known(row["known"], where=where)
        return row


@cache
def table(name: str) -> SortedTable:
    """Return a table of this part; read once."""
    return SortedTable(name)
