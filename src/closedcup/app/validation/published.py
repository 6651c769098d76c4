"""Published series and the figures that they give, each beside ours.

`series.csv` holds the values by name; a table of figures names function, set, quantity, published
figure and largest difference. What is computed is
keyed by (set, quantity); one without the other is a mistake and raises.
"""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from closedcup.app.validation.comparison import Comparison
from closedcup.errors import Damaged
from closedcup.sources import Bibliography, load_bibliography, load_rows, parse_known

Computed = Mapping[tuple[str, str], float | str]


@cache
def _bibliography() -> Bibliography:
    return load_bibliography(files("closedcup.app.validation") / "data" / "metrology_sources.csv")


@cache
def _all_series() -> dict[str, NDArray[np.float64]]:
    rows = load_rows(files("closedcup.app.validation") / "data" / "series.csv", _bibliography())
    return {row["name"]: np.array(row["values"].split(), dtype=np.float64) for row in rows}


def series(name: str) -> NDArray[np.float64]:
    """Return a published series by its name."""
    return _all_series()[name]


def compared(table: str, computed: Computed) -> list[Comparison]:
    """Pair each published figure of a table with what is computed for it."""
    rows = load_rows(files("closedcup.app.validation") / "data" / table, _bibliography())
    pairs = [(row["set"], row["quantity"]) for row in rows]
    if sorted(pairs) != sorted(computed):
        odd = sorted(set(pairs) ^ set(computed)) or "a figure stands twice"
        raise Damaged(
            "figures-unpaired", f"Published and computed figures differ: {odd}", where=table
        )
    return [
        Comparison(
            function=row["function"],
            quantity=f"{row['set']}: {row['quantity']}",
            published=_figure(row["published"]),
            computed=computed[row["set"], row["quantity"]],
            allowed=float(row["allowed"]),
            source=_bibliography().cite(row["source"]),
            known=parse_known(row["known"], where=row["set"]),
        )
        for row in rows
    ]


def _figure(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
