"""Read data files; a row without a source, or with a source nobody lists, does not load."""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable

from closedcup.errors import Damaged
from closedcup.sources.cited import parse_known


@dataclass(frozen=True)
class Bibliography:
    """The sources of one part: key to citation and address."""

    citations: Mapping[str, str]
    addresses: Mapping[str, str]

    def cite(self, key: str) -> str:
        """Return the citation in words; an unlisted key is Damaged, not a blank."""
        if key not in self.citations:
            raise Damaged(
                "source-unlisted",
                f"The source “{key}” is not in the bibliography.",
                where=key,
                fix="Add it to sources.csv.",
            )
        return self.citations[key]


def _read_csv(file: Traversable) -> Iterable[dict[str, str]]:
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    yield from csv.DictReader(line for line in lines if not line.startswith("#"))


def load_bibliography(file: Traversable) -> Bibliography:
    """Read `sources.csv` with the columns key, citation, address.

    Raises Damaged for a row without a key or a citation.
    """
    rows = list(_read_csv(file))
    for row in rows:
        if not row["key"] or not row["citation"]:
            raise Damaged("source-empty", f"A source has no citation: {row}.", where=file.name)
    return Bibliography(
        citations={row["key"]: row["citation"] for row in rows},
        addresses={row["key"]: row["address"] for row in rows},
    )


def load_rows(file: Traversable, bibliography: Bibliography) -> list[dict[str, str]]:
    """Read a table with the columns `source` and `known`; lines that begin with # are comments.

    Several sources of one row are separated by " + ". Raises Damaged for a row whose source is
    empty or unlisted, or whose `known` is not one of the five words.
    """
    rows = []
    for number, row in enumerate(_read_csv(file), start=2):
        where = f"{file.name}, row {number}"
        if not row.get("source"):
            raise Damaged("source-empty", "The row has no source.", where=where)
        for key in row["source"].split(" + "):
            bibliography.cite(key)
        parse_known(row.get("known", ""), where=where)
        rows.append(row)
    return rows
