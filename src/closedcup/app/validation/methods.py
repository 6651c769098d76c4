"""Pressure correction, set points, precision and the search beside published figures."""

from importlib.resources import files

from closedcup.app.validation.comparison import Comparison
from closedcup.methods import (
    CupSet,
    FiniteAim,
    IgniterApplied,
    Move,
    Observation,
    RampStarted,
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
from closedcup.methods.repeats import judge_repeats, parse_repeat_rule, repeat_rule
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
        *(_heated_move(row) for row in rows_of("heated_moves.csv")),
        *(_repeats(row) for row in rows_of("repeats.csv")),
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


def _heated_move(row: dict[str, str]) -> Comparison:
    """Heat a large cup by hand up to the last application and ask where the next one is due."""
    chosen, expected = method(row["method"]), row["expected_corrected_c"]
    start_c, from_c = float(row["start_cup_c"]), float(row["heated_from_cup_c"])
    state = begin(
        chosen,
        FiniteAim(expected_corrected_c=float(expected) if expected else None),
        start_cup_c=start_c,
        pressure_kpa=barometer_numbers().standard_pressure.value,
        probe_correction_c=0.0,
    )
    volume_ml = chosen.specimen_rule(state.product, start_c).volume.value
    moves: list[Move] = [
        CupSet(start_c),
        SpecimenLoaded(1, volume_ml, from_c),
        RampStarted(from_c, automatic=False),
    ]
    if row["last_cup_c"]:
        moves.append(IgniterApplied(float(row["last_cup_c"]), Observation.NO_FLASH))
    state = replay(state, moves)
    return Comparison(
        function="methods.procedure.instruction",
        quantity=f"{row['method']}, {expected or 'nothing'} expected: igniter due after "
        f"{row['last_cup_c'] or 'the start'}",
        published=float(row["next_cup_c"]),
        computed=instruction(state).cup_c,
        allowed=0.0,
        source=row["source"],
        known=parse_known(row["known"], where=row["method"]),
    )


def _repeats(row: dict[str, str]) -> Comparison:
    rule = repeat_rule(method(row["method"]), parse_repeat_rule(row["rule"]))
    results_c = [float(text) for text in row["results_c"].split()]
    found = judge_repeats(rule, results_c, rule.limit_c or 0.0)
    return Comparison(
        function="methods.repeats.judge_repeats",
        quantity=f"reported from {row['results_c']} °C by {row['method']}, {row['rule']}",
        published=float(row["published"]),
        computed=float("nan") if found.reported_c is None else found.reported_c,
        allowed=1e-9,
        source=row["source"],
        known=parse_known(row["known"], where=row["method"]),
    )
