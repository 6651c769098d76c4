"""Pressure correction, set points, precision and the search beside published figures."""

from importlib.resources import files

from closedcup.app.validation.comparison import Comparison
from closedcup.methods import (
    CupSet,
    FiniteAim,
    IgniterApplied,
    Observation,
    SpecimenLoaded,
    begin,
    correct,
    correction_c,
    instruction,
    method,
    repeatability_c,
    replay,
    reproducibility_c,
    set_point,
)
from closedcup.methods.barometer import barometer_numbers
from closedcup.quantities import parse_limit, parse_pressure
from closedcup.sources import load_bibliography, load_rows, parse_known


def rows_of(table: str) -> list[dict[str, str]]:
    """Read a table of published figures of the test methods; `source` becomes the citation."""
    folder = files("closedcup.app.validation") / "data"
    bibliography = load_bibliography(folder / "methods_sources.csv")
    rows = load_rows(folder / table, bibliography)
    return [row | {"source": bibliography.cite(row["source"])} for row in rows]


def comparisons() -> list[Comparison]:
    """Compare the methods part with `data/method_precision_points.csv` and its neighbours."""
    return [
        *(_precision(row) for row in rows_of("method_precision_points.csv")),
        *(_correction(row) for row in rows_of("pressure_corrections.csv")),
        *(_set_point(row) for row in rows_of("set_points.csv")),
        *(_reported(row) for row in rows_of("reported_values.csv")),
        *(_search_move(row) for row in rows_of("search_moves.csv")),
    ]


def _precision(row: dict[str, str]) -> Comparison:
    of = {"r": repeatability_c, "R": reproducibility_c}[row["what"]]
    note = f" ({row['note']})" if row["note"] else ""
    return Comparison(
        function=f"methods.precision.{of.__name__}",
        quantity=f"{row['what']} of {row['method']} at {row['at_c']} °C{note}",
        published=float(row["published"]),
        computed=of(method(row["method"]), float(row["at_c"]), row["product"]),
        allowed=float(row["allowed"]),
        source=row["source"],
        known=parse_known(row["known"], where=row["method"]),
    )


def _correction(row: dict[str, str]) -> Comparison:
    return Comparison(
        function="methods.barometer.correction_c",
        quantity=f"pressure correction at {row['pressure']}, °C",
        published=float(row["published"]),
        computed=correction_c(parse_pressure(row["pressure"]).kpa),
        allowed=float(row["allowed"]),
        source=row["source"],
        known=parse_known(row["known"], where=row["pressure"]),
    )


def _set_point(row: dict[str, str]) -> Comparison:
    point = set_point(parse_limit(row["limit"]), pressure_kpa=parse_pressure(row["pressure"]).kpa)
    return Comparison(
        function="methods.setpoint.set_point",
        quantity=f"cup for {row['limit']} at {row['pressure']}, °C",
        published=float(row["published"]),
        computed=point.cup_c,
        allowed=1e-9,
        source=row["source"],
        known=parse_known(row["known"], where=row["limit"]),
    )


def _reported(row: dict[str, str]) -> Comparison:
    reading = correct(
        float(row["observed_cup_c"]),
        pressure_kpa=barometer_numbers().standard_pressure.value
        if not row["pressure"]
        else parse_pressure(row["pressure"]).kpa,
        rounding_step_c=float(row["step_c"]),
    )
    return Comparison(
        function="methods.correction.correct",
        quantity=f"{row['observed_cup_c']} °C at {row['pressure'] or '101.3 kPa'}, reported to "
        f"{row['step_c']} °C",
        published=float(row["published"]),
        computed=reading.reported_c,
        allowed=0.0,
        source=row["source"],
        known=parse_known(row["known"], where=row["observed_cup_c"]),
    )


def _search_move(row: dict[str, str]) -> Comparison:
    state = begin(
        method("d3828-b"),
        FiniteAim(),
        start_cup_c=60.0,
        pressure_kpa=barometer_numbers().standard_pressure.value,
        probe_correction_c=0.0,
    )
    seen = IgniterApplied(60.0, Observation(row["observed"]), dwell_s=60.0)
    state = replay(state, [CupSet(60.0), SpecimenLoaded(1, 2.0, 60.0), seen])
    return Comparison(
        function="methods.procedure.instruction",
        quantity=f"next temperature after {row['observed']} at 60 °C",
        published=float(row["next_cup_c"]),
        computed=instruction(state).cup_c,
        allowed=0.0,
        source=row["source"],
        known=parse_known(row["known"], where=row["observed"]),
    )
