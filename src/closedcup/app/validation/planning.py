"""Starting temperatures and specimen counts beside the methods' rules."""

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.methods import rows_of
from closedcup.methods import FiniteAim, barometer_numbers, method
from closedcup.planning import (
    Bench,
    Expected,
    Knowledge,
    specimens_as_written,
    starting_temperature,
)
from closedcup.sources import parse_known


def comparisons() -> list[Comparison]:
    """Compare with `data/starting_points.csv` and `data/specimen_counts.csv`."""
    return [
        *(_start(row) for row in rows_of("starting_points.csv")),
        *(_count(row) for row in rows_of("specimen_counts.csv")),
    ]


def _start(row: dict[str, str]) -> Comparison:
    expected_c = float(row["expected_c"])
    start = starting_temperature(
        method(row["method"]),
        FiniteAim(),
        Knowledge("measured", Expected(expected_c, expected_c, expected_c)),
        Bench(barometer_numbers().standard_pressure.value),
    )
    return Comparison(
        function="planning.starting.starting_temperature",
        quantity=f"start of {row['method']} for {row['expected_c']} °C expected",
        published=float(row["start_cup_c"]),
        computed=start.start_cup_c,
        allowed=0.0,
        source=row["source"],
        known=parse_known(row["known"], where=row["method"]),
    )


def _count(row: dict[str, str]) -> Comparison:
    guess_cup_c = 60.0
    return Comparison(
        function="planning.specimens.specimens_as_written",
        quantity=f"specimens for an error of {row['error_c']} °C, last step {row['step_c']} °C",
        published=float(row["published"]),
        computed=float(
            specimens_as_written(
                method("d3828-b"),
                FiniteAim(float(row["step_c"])),
                start_cup_c=guess_cup_c,
                flash_cup_c=guess_cup_c + float(row["error_c"]),
            )
        ),
        allowed=0.0,
        source=row["source"],
        known=parse_known(row["known"], where=row["error_c"]),
    )
