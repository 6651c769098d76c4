"""Points of the literature on liquids and blends, and ours beside them."""

from importlib.resources import files
from typing import Final

from closedcup.app.validation.comparison import Comparison
from closedcup.sources import load_bibliography, load_rows, parse_known

DATA: Final = files(__package__) / "data"
BIBLIOGRAPHY: Final = load_bibliography(DATA / "mixtures_sources.csv")

Row = dict[str, str]


def points(table: str, kind: str) -> list[Row]:
    """Return the rows of one kind of a table of points."""
    return [row for row in load_rows(DATA / table, BIBLIOGRAPHY) if row["kind"] == kind]


def compare(function: str, quantity: str, computed: float, row: Row) -> Comparison:
    """Put what is computed beside a published point."""
    return Comparison(
        function=function,
        quantity=quantity,
        published=float(row["published"]),
        computed=computed,
        allowed=float(row["allowed"]),
        source=BIBLIOGRAPHY.cite(row["source"]),
        known=parse_known(row["known"], where=quantity),
    )
