"""Starts, specimen counts, estimators of yes or no, and what searches need beside known figures."""

from functools import cache
from importlib.resources import files

import numpy as np

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.methods import rows_of
from closedcup.methods import FiniteAim, barometer_numbers, method
from closedcup.metrology.sensitivity import (
    d_optimal_distance,
    dixon_mood,
    fit_probit,
    probit_information,
    up_and_down,
)
from closedcup.planning import (
    Bench,
    Expected,
    Knowledge,
    specimens_as_written,
    starting_temperature,
)
from closedcup.planning.belief import Observed
from closedcup.planning.observing import (
    Observing,
    scatter_from_repeatability,
    spread_of_rounded_results,
)
from closedcup.planning.ordered_search import best_ordered_search, entropy_bits
from closedcup.planning.pace import usual_pace, usual_weights
from closedcup.planning.sequential import even_belief, joint_after, least_variance, most_informative
from closedcup.planning.simulation import Setting, best_possible_specimens, simulate
from closedcup.sources import load_bibliography, load_rows, parse_known

Figures = dict[tuple[str, str, str], float]  # by function, example and quantity


def comparisons() -> list[Comparison]:
    """Compare with the tables of starting points, specimen counts and yes-or-no figures."""
    computed = _figures()
    return [
        *(_start(row) for row in rows_of("starting_points.csv")),
        *(_count(row) for row in rows_of("specimen_counts.csv")),
        *(_figure(row, computed) for row in _rows("yes_no_figures.csv")),
    ]


def _rows(table: str) -> list[dict[str, str]]:
    folder = files("closedcup.app.validation") / "data"
    bibliography = load_bibliography(folder / "planning_sources.csv")
    rows = load_rows(folder / table, bibliography)
    return [row | {"source": bibliography.cite(row["source"])} for row in rows]


def _figure(row: dict[str, str], computed: Figures) -> Comparison:
    return Comparison(
        function=row["function"],
        quantity=f"{row['example']}: {row['quantity']}",
        published=float(row["published"]),
        computed=computed[row["function"], row["example"], row["quantity"]],
        allowed=float(row["allowed"]),
        source=row["source"],
        known=parse_known(row["known"], where=row["example"]),
    )


@cache
def _series(name: str) -> tuple[list[float], list[int], list[int]]:
    rows = [row for row in _rows("yes_no_series.csv") if row["series"] == name]
    return (
        [float(row["x"]) for row in rows],
        [int(row["tested"]) for row in rows],
        [int(row["yes"]) for row in rows],
    )


def _figures() -> Figures:
    found: Figures = {}
    for part in (_estimators, _joint, _searches):
        found |= part()
    return found


def _estimators() -> Figures:
    found: Figures = {}
    for name in ("beetles", "gabapentin", "overlap"):
        fit = fit_probit(*_series(name))
        key = "metrology.sensitivity.fit_probit", name
        found |= {
            (*key, "intercept"): fit.intercept,
            (*key, "slope"): fit.slope,
            (*key, "intercept standard error"): fit.standard_errors[0],
            (*key, "slope standard error"): fit.standard_errors[1],
            (*key, "threshold"): fit.threshold,
            (*key, "threshold standard error"): fit.threshold_standard_error,
            (*key, "scatter"): fit.scatter,
            (*key, "deviance"): fit.deviance,
        }
    doses, _, responses = _series("gabapentin")
    series = up_and_down(doses, responses)
    key = "metrology.sensitivity.up_and_down", "gabapentin"
    found |= {(*key, "threshold"): series.threshold, (*key, "n"): float(series.n)}
    table = dixon_mood([60, 61, 62, 63], [1, 4, 6, 1], counting="yes")
    assert table.scatter is not None  # noqa: S101 - M is above 0.3
    key = "metrology.sensitivity.dixon_mood", "constructed"
    return found | {
        (*key, "threshold"): table.threshold,
        (*key, "scatter"): table.scatter,
        (*key, "m"): table.m,
        (
            "metrology.sensitivity.d_optimal_distance",
            "two points",
            "distance",
        ): d_optimal_distance(),
        ("metrology.sensitivity.probit_information", "at the threshold", "J(0)"): float(
            probit_information(0.0)
        ),
    }


def _joint() -> Figures:
    """Work the sequential example: threshold 50 to 70 by 0.1, scatter 0.3 to 3 in 41 places."""
    prior = even_belief(50 + 0.1 * np.arange(201), np.geomspace(0.3, 3, 41))
    candidates = 50 + 0.5 * np.arange(41)
    at, _, flashed = _series("joint")
    made = [Observed(x, bool(yes)) for x, yes in zip(at, flashed, strict=True)]
    found: Figures = {}
    for n in range(1, len(made) + 1):
        belief, example = joint_after(prior, made[:n]), f"joint after {n}"
        by_variance, expected = least_variance(belief, candidates)
        by_information = most_informative(belief, made[:n], candidates)
        found |= {
            ("planning.sequential.joint_after", example, "mean"): belief.mean_cup_c,
            ("planning.sequential.joint_after", example, "sd"): belief.sd_c,
            ("planning.sequential.joint_after", example, "scatter"): belief.mean_scatter_c,
            ("planning.sequential.most_informative", example, "next by information"): (
                by_information
            ),
            ("planning.sequential.least_variance", example, "next by variance"): by_variance,
            ("planning.sequential.least_variance", example, "expected sd"): expected,
        }
    return found


def _searches() -> Figures:
    found: Figures = {}
    for scatter_c, step_c in ((0.6, 1), (0.4, 0.5)):
        key = (
            "planning.observing.spread_of_rounded_results",
            f"scatter {scatter_c:g} step {step_c:g}",
            "spread",
        )
        found[key] = spread_of_rounded_results(scatter_c, step_c)
    key = "planning.observing.scatter_from_repeatability", "r 0.5 step 1", "scatter"
    found[key] = scatter_from_repeatability(0.5, 1.0)
    sharp = Setting(0.1, 1.0, Observing(0.0, 0.0), usual_pace(), usual_weights())
    key = "planning.simulation.simulate", "sharp estimates", "specimens"
    found[key] = simulate(sharp)[0].mean_specimens
    for n in (8, 64):
        key = "planning.ordered_search.best_ordered_search", f"{n} equal steps", "specimens"
        found[key] = best_ordered_search([1] * n)
    found["planning.ordered_search.entropy_bits", "64 equal steps", "bits"] = entropy_bits([1] * 64)
    for spread_c in (1.5, 3, 8):
        setting = Setting(spread_c, 1.0, Observing(0.0, 0.0), usual_pace(), usual_weights())
        key = (
            "planning.simulation.best_possible_specimens",
            f"spread {spread_c:g} step 1",
            "specimens",
        )
        found[key] = best_possible_specimens(setting)
    return found


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
