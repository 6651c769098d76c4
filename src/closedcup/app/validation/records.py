"""Published canonical JSON and SHA-256 beside ours: what every seal rests on."""

import json
import string
from collections.abc import Callable
from importlib.resources import files
from typing import Final
from urllib.parse import quote

from closedcup.app.validation.comparison import Comparison
from closedcup.records import canonical_bytes, digest
from closedcup.sources import load_bibliography, load_rows, parse_known

_PLAIN: Final = "".join(set(string.printable) - set(string.whitespace) - {"%"}) + " "


def _canonical(text: str) -> str:
    return quote(canonical_bytes(json.loads(text)), safe=_PLAIN)


def _digest(text: str) -> str:
    return digest(text.encode())


_FUNCTIONS: Final[dict[str, tuple[str, Callable[[str], str]]]] = {
    "canonical": ("records.canonical.canonical_bytes", _canonical),
    "digest": ("records.chain.digest", _digest),
}


def comparisons() -> list[Comparison]:
    """Return one comparison per published vector; bytes agree or they do not."""
    data = files("closedcup.app.validation") / "data"
    bibliography = load_bibliography(data / "record_sources.csv")
    found = []
    for row in load_rows(data / "record_vectors.csv", bibliography):
        name, compute = _FUNCTIONS[row["function"]]
        found.append(
            Comparison(
                function=name,
                quantity=row["quantity"],
                published=row["published"],
                computed=compute(row["input"]),
                allowed=0.0,
                source=f"{bibliography.cite(row['source'])}, {row['clause']}",
                known=parse_known(row["known"], where=row["quantity"]),
            )
        )
    return found
