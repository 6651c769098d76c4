"""Suspected contaminants and the lowest flash point that each can bring."""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from closedcup.planning.knowledge import Contaminant
from closedcup.sources import load_bibliography, load_rows


@cache
def _by_name() -> Mapping[str, float]:
    folder = files("closedcup.planning") / "data"
    rows = load_rows(folder / "contaminants.csv", load_bibliography(folder / "sources.csv"))
    return {
        name.strip(): float(row["lowest_flash_corrected_c"])
        for row in rows
        for name in row["names"].split(";")
    }


def contaminant(name: str) -> Contaminant | None:
    """Return a contaminant that goes by a common name ("petrol"); None for any other.

    A mixture such as petrol has no one flash point: the value is the lowest to be met.
    """
    lowest_c = _by_name().get(" ".join(name.lower().split()))
    return None if lowest_c is None else Contaminant(name, lowest_c)


def contaminant_names() -> tuple[str, ...]:
    """Return the common names that are known."""
    return tuple(_by_name())
