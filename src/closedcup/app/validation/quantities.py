"""Units, the standard atmosphere and rounding against definitions and an independent library."""

import csv
from importlib.resources import files

from closedcup.app.validation.comparison import Comparison
from closedcup.quantities import (
    parse_difference,
    parse_pressure,
    parse_temperature,
    round_half_up,
    standard_pressure_kpa,
)
from closedcup.sources import parse_known


def comparisons() -> list[Comparison]:
    """Compare conversions with the published figures in `data/quantities.csv`."""
    file = files("closedcup.app.validation") / "data" / "quantities.csv"
    rows = csv.DictReader(file.read_text(encoding="utf-8").splitlines())
    return [
        Comparison(
            function=f"quantities.{row['function']}",
            quantity=row["quantity"],
            published=float(row["published"]),
            computed=_COMPUTE[row["function"]](row["input"]),
            allowed=float(row["allowed"]),
            source=row["source"],
            known=parse_known(row["known"], where=row["quantity"]),
        )
        for row in rows
    ]


_COMPUTE = {
    "temperature.parse_temperature": lambda text: parse_temperature(text).c,
    "temperature.parse_difference": lambda text: parse_difference(text).c,
    "pressure.parse_pressure": lambda text: parse_pressure(text).kpa,
    "pressure.standard_pressure_kpa": lambda text: standard_pressure_kpa(float(text)),
    "rounding.round_half_up": lambda text: round_half_up(*map(float, text.split(" to "))),
}
