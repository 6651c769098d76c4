"""Control charts, run rules, averages and sums beside handbook figures."""

from importlib.resources import files

import numpy as np

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.published import Computed, compared, series
from closedcup.metrology.censored import brackets_of, estimate_from_brackets
from closedcup.metrology.control_charts import (
    check_standard,
    individuals_limits,
    limits_around,
    moving_range_limits,
    moving_ranges,
    subgroup_charts,
)
from closedcup.metrology.cusum import average_run_length as cusum_run_length
from closedcup.metrology.cusum import cusum
from closedcup.metrology.ewma import average_run_length as ewma_run_length
from closedcup.metrology.ewma import ewma
from closedcup.metrology.normality import anderson_darling
from closedcup.metrology.quantiles import fisher_quantile
from closedcup.metrology.run_rules import RULES, rule_hits
from closedcup.metrology.summary import univariate
from closedcup.sources import load_bibliography, load_rows, parse_known

Figures = dict[tuple[str, str], float | str]


def comparisons() -> list[Comparison]:
    """Compare charts with `data/chart_figures.csv` and run rules with their fixtures."""
    computed: Computed = {
        **_individuals(),
        **_ewma(),
        **_cusum(),
        **_subgroups(),
        **_check_standards(),
        **_normality(),
        **_brackets(),
    }
    return [*compared("chart_figures.csv", computed), *_run_rules()]


def _individuals() -> Figures:
    flow, twenty = series("flow rate"), series("twenty batches")
    return {
        ("flow rate", "mean"): individuals_limits(flow).centre,
        ("flow rate", "mean moving range"): float(moving_ranges(flow).mean()),
        ("flow rate", "upper limit"): individuals_limits(flow).upper,
        ("flow rate", "lower limit"): individuals_limits(flow).lower,
        ("twenty batches", "mean moving range"): float(moving_ranges(twenty).mean()),
        ("twenty batches", "upper limit"): individuals_limits(twenty).upper,
        ("twenty batches", "lower limit"): individuals_limits(twenty).lower,
        ("twenty batches", "limit of moving ranges"): moving_range_limits(twenty).upper,
    }


def _ewma() -> Figures:
    twenty = series("twenty batches")
    handbook = ewma(twenty, centre=50, sigma=2.0539, weight=0.3)
    exact = ewma(twenty, centre=50, sigma=2.0539, weight=0.3, exact=True)
    limits = individuals_limits(twenty)
    petroleum = ewma(
        twenty, centre=limits.centre, sigma=limits.sigma, weight=0.4, start=float(twenty[0])
    )
    figures: Figures = {
        ("twenty batches, λ 0.3", "upper limit"): float(handbook.upper[0]),
        ("twenty batches, λ 0.3", "lower limit"): float(handbook.lower[0]),
        ("twenty batches, λ 0.4", "upper limit"): float(petroleum.upper[0]),
        ("twenty batches, λ 0.4", "lower limit"): float(petroleum.lower[0]),
        ("twenty batches, λ 0.4", "last average"): float(petroleum.values[-1]),
        ("average run length", "λ 0.4, 3.054 σ, no shift"): ewma_run_length(
            weight=0.4, width=3.054, shift=0
        ),
        ("average run length", "λ 0.4, 3.054 σ, shift 1 σ"): ewma_run_length(
            weight=0.4, width=3.054, shift=1
        ),
        ("average run length", "λ 0.1, 2.814 σ, no shift"): ewma_run_length(
            weight=0.1, width=2.814, shift=0
        ),
        ("average run length", "λ 0.1, 2.814 σ, shift 1 σ"): ewma_run_length(
            weight=0.1, width=2.814, shift=1
        ),
    }
    for place in range(twenty.size):
        key = ("twenty batches, λ 0.3", f"average {place + 1}")
        figures[key] = float(handbook.values[place])
    for place in range(5):
        key = ("twenty batches, λ 0.3", f"exact half-width {place + 1}")
        figures[key] = float(exact.upper[place]) - 50
    return figures


def _cusum() -> Figures:
    made = cusum(series("twenty groups"), target=325, allowance=0.3175, interval=4.1959)
    figures: Figures = {
        ("twenty groups", "first signal"): float(np.flatnonzero(made.signals)[0] + 1),
        ("twenty groups", "last deviation sum"): float(made.deviations[-1]),
        ("twenty groups", "low sum 8"): float(made.low[7]),
    }
    for place in range(13, 21):
        key = ("twenty groups", f"high sum {place}")
        figures[key] = float(made.high[place - 1])
    for interval in (4, 5):
        for shift in (0, 0.5, 1):
            key = ("average run length", f"h {interval} σ, k 0.5 σ, shift {shift:g} σ")
            figures[key] = cusum_run_length(allowance=0.5, interval=interval, shift=shift)
    return figures


def _subgroups() -> Figures:
    table = series("SiRstv").reshape(5, 5)
    by_range = subgroup_charts(table, spread="range")
    by_deviation = subgroup_charts(table, spread="deviation")
    name = "resistivity in fives"
    return {
        (name, "grand mean"): by_range.mean_limits.centre,
        (name, "mean range"): by_range.spread_limits.centre,
        (name, "mean deviation"): by_deviation.spread_limits.centre,
        (name, "lower limit by R"): by_range.mean_limits.lower,
        (name, "upper limit by R"): by_range.mean_limits.upper,
        (name, "lower limit by S"): by_deviation.mean_limits.lower,
        (name, "upper limit by S"): by_deviation.mean_limits.upper,
        (name, "limit of R"): by_range.spread_limits.upper,
        (name, "limit of S"): by_deviation.spread_limits.upper,
    }


def _check_standards() -> Figures:
    dates, values = series("kilogram dates"), series("kilogram")
    base, later = values[dates < 85], values[dates >= 85]
    average = ewma(later, centre=float(base.mean()), sigma=float(base.std(ddof=1)), weight=0.2)
    above = np.flatnonzero(average.values > average.upper)
    days = check_standard(
        series("resistivity"),
        series("resistivity deviations"),
        5,
        width=2,
        fisher=fisher_quantile(0.95, 5, 125),
    )
    masses = check_standard(
        values, series("kilogram deviations"), 3, width=3, fisher=fisher_quantile(0.99, 3, 351)
    )
    single = limits_around(float(base.mean()), float(base.std(ddof=1)), "base")
    return {
        ("kilogram", "lower limit"): single.lower,
        ("kilogram", "upper limit"): single.upper,
        ("kilogram", "mean of the base"): float(base.mean()),
        ("kilogram", "s of the base"): float(base.std(ddof=1)),
        ("kilogram", "upper EWMA limit"): float(average.upper[0]),
        ("kilogram", "lower EWMA limit"): float(average.lower[0]),
        ("kilogram", "first average above"): float(above[0] + 1),
        ("kilogram", "averages above"): float(above.size),
        ("kilogram", "limit of within-day s"): masses.within_limit,
        ("resistivity", "within days"): days.within,
        ("resistivity", "between days"): days.between_days,
        ("resistivity", "limit of within-day s"): days.within_limit,
        ("resistivity", "centre"): days.centre,
        ("resistivity", "lower limit"): days.lower,
        ("resistivity", "upper limit"): days.upper,
    }


def _normality() -> Figures:
    figures: Figures = {}
    for name in (
        "twenty batches",
        "flow rate",
        "Michelso",
        "Mavro",
        "twenty groups",
        "heat flow",
        "Lew",
    ):
        found = anderson_darling(series(name))
        figures[name, "A²"] = found.statistic
        figures[name, "A²*"] = found.corrected
        figures[name, "p"] = found.probability
        if name != "heat flow":
            sigma = individuals_limits(series(name)).sigma
            by_ranges = anderson_darling(series(name), sigma=sigma)
            figures[name, "A² by moving range"] = by_ranges.statistic
    figures["heat flow", "autocorrelation"] = univariate(series("heat flow")).autocorrelation
    return figures


def _brackets() -> Figures:
    """Check brackets so narrow that they are values: n - 1 becomes n in the standard deviation."""
    values = series("flow rate")
    return {
        ("flow rate in brackets of 0.0001", "standard deviation"): (
            estimate_from_brackets(*brackets_of(values, 1e-4)).deviation or 0.0
        ),
    }


def _run_rules() -> list[Comparison]:
    folder = files("closedcup.app.validation") / "data"
    bibliography = load_bibliography(folder / "metrology_sources.csv")
    return [
        Comparison(
            function="metrology.run_rules.rule_hits",
            quantity=row["what"],
            published=row["signals"],
            computed=" ".join(
                f"{rule}:{','.join(map(str, at))}"
                for rule, at in rule_hits(np.array(row["z"].split(), float), list(RULES)).items()
            )
            or "none",
            allowed=0.0,
            source=bibliography.cite(row["source"]),
            known=parse_known(row["known"], where=row["what"]),
        )
        for row in load_rows(folder / "run_rules.csv", bibliography)
    ]
