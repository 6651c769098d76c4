"""Budgets, distributions and calibration lines beside the guides' worked examples.

The budgets are files as the command reads them; Monte Carlo runs 10⁶ trials from a fixed seed.
"""

from importlib.resources import files
from math import sqrt

import numpy as np

from closedcup.app.usecases.uncertainty.budget_file import BudgetFile, read_budget
from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.published import compared, series
from closedcup.metrology.budget import (
    Propagated,
    output_covariance,
    propagate,
    second_order_uncertainty,
)
from closedcup.metrology.inputs import Input, Model
from closedcup.metrology.interlaboratory import evaluate_material
from closedcup.metrology.line_fit import fit_line
from closedcup.metrology.monte_carlo import Simulated, simulate
from closedcup.metrology.rounded import rounded_pair
from closedcup.metrology.summary import univariate

Figures = dict[tuple[str, str], float | str]


def comparisons() -> list[Comparison]:
    """Compare with `data/uncertainty_figures.csv`."""
    computed = {
        **_end_gauge(),
        **_impedance(),
        **_thermometer(),
        **_day_to_day(),
        **_additive(),
        **_mass(),
        **_solutions(),
        **_rounding(),
    }
    return compared("uncertainty_figures.csv", computed)


def _budget(name: str) -> BudgetFile:
    folder = files("closedcup.app.validation") / "data" / "budgets"
    return read_budget(str(folder / f"{name}.toml"))


def _propagated(name: str) -> Propagated:
    budget = _budget(name)
    return propagate(budget.model, budget.inputs)


def _simulated(name: str) -> Simulated:
    budget = _budget(name)
    return simulate(budget.model, budget.inputs)


def _end_gauge() -> Figures:
    budget, found = _budget("end-gauge"), _propagated("end-gauge")
    difference = _propagated("gauge-difference")
    return {
        ("end gauge", "estimate"): found.estimate,
        ("end gauge", "u"): found.uncertainty,
        ("end gauge", "ν"): found.degrees_of_freedom,
        ("end gauge", "k 99 %"): found.coverage_factor(0.99),
        ("end gauge", "U 99 %"): found.expanded(0.99),
        ("end gauge", "u, second order"): second_order_uncertainty(budget.model, budget.inputs),
        ("gauge difference", "u"): difference.uncertainty,
        ("gauge difference", "ν"): difference.degrees_of_freedom,
    }


def _impedance() -> Figures:
    observed = np.stack([series("voltage"), series("current in mA") / 1000, series("phase")])
    correlation = np.corrcoef(observed)
    deviations = observed.std(axis=1, ddof=1) / np.sqrt(observed.shape[1])
    inputs = [
        Input(name, float(mean), float(u))
        for name, mean, u in zip("VIp", observed.mean(axis=1), deviations, strict=True)
    ]
    models: dict[str, Model] = {
        "R": lambda x: x[0] / x[1] * np.cos(x[2]),
        "X": lambda x: x[0] / x[1] * np.sin(x[2]),
        "Z": lambda x: x[0] / x[1],
    }
    covariance = output_covariance(list(models.values()), inputs, correlation=correlation)
    u = np.sqrt(np.diag(covariance))
    r = covariance / np.outer(u, u)
    figures: Figures = {
        ("impedance", "r of R and X"): float(r[0, 1]),
        ("impedance", "r of R and Z"): float(r[0, 2]),
        ("impedance", "r of X and Z"): float(r[1, 2]),
    }
    for name, values in zip(("V", "I in mA", "φ"), observed * [[1], [1000], [1]], strict=True):
        found = univariate(values)
        figures["impedance", f"mean of {name}"] = found.mean
        figures["impedance", f"u of the mean of {name}"] = found.deviation / sqrt(found.n)
    for place, (name, model) in enumerate(models.items()):
        figures["impedance", name] = propagate(model, inputs, correlation=correlation).estimate
        figures["impedance", f"u of {name}"] = float(u[place])
    return figures


def _thermometer() -> Figures:
    readings, corrections = series("thermometer readings"), series("thermometer corrections")
    line = fit_line(readings, corrections, at=20)
    shared = fit_line(readings, corrections, at=20, common_uncertainty=0.005)
    at_30, u_at_30 = line.predict(30)
    return {
        ("thermometer", "y1"): line.intercept,
        ("thermometer", "u of y1"): line.intercept_uncertainty,
        ("thermometer", "y2"): line.slope,
        ("thermometer", "u of y2"): line.slope_uncertainty,
        ("thermometer", "r"): line.correlation,
        ("thermometer", "s"): line.residual_deviation,
        ("thermometer", "b at 30 °C"): at_30,
        ("thermometer", "u of b at 30 °C"): u_at_30,
        ("thermometer", "u of intercept with a common error"): shared.intercept_uncertainty,
    }


def _day_to_day() -> Figures:
    """Use five results of each day that have the printed mean and standard deviation."""
    means, deviations = series("day means less 10 V in µV"), series("day deviations in µV")
    pattern = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    pattern /= pattern.std(ddof=1)
    found = evaluate_material(
        {
            str(day): (mean + deviation * pattern).tolist()
            for day, (mean, deviation) in enumerate(zip(means, deviations, strict=True))
        }
    )
    return {
        ("day to day", "mean, µV above 10 V"): found.mean,
        ("day to day", "s within days"): found.repeatability_deviation or 0.0,
        ("day to day", "s between days"): found.between_deviation,
        ("day to day", "s of day means × √5"): found.deviation_of_means * 5**0.5,
        ("day to day", "u of the mean"): found.deviation_of_means / means.size**0.5,
    }


def _additive() -> Figures:
    figures: Figures = {}
    for name in ("four normal", "four rectangular", "one wide"):
        drawn = _simulated(name.replace(" ", "-"))
        figures[name, "u"] = drawn.uncertainty
        figures[name, "upper end"] = drawn.symmetric[1]
        if name != "four normal":
            figures[name, "upper end by propagation"] = _propagated(
                name.replace(" ", "-")
            ).expanded()
    return figures


def _mass() -> Figures:
    budget, found, drawn = _budget("mass"), _propagated("mass"), _simulated("mass")
    return {
        ("mass", "estimate"): found.estimate,
        ("mass", "u by propagation"): found.uncertainty,
        ("mass", "lower end by propagation"): found.estimate - found.expanded(),
        ("mass", "upper end by propagation"): found.estimate + found.expanded(),
        ("mass", "u, second order"): second_order_uncertainty(budget.model, budget.inputs),
        ("mass", "mean"): drawn.mean,
        ("mass", "u"): drawn.uncertainty,
        ("mass", "shortest interval, low"): drawn.shortest[0],
        ("mass", "shortest interval, high"): drawn.shortest[1],
    }


def _solutions() -> Figures:
    figures: Figures = {}
    for name in ("cadmium", "sodium hydroxide", "hydrochloric acid"):
        found = _propagated(name.replace(" ", "-"))
        figures[name, "concentration"] = found.estimate
        figures[name, "u"] = found.uncertainty
    return figures


def _rounding() -> Figures:
    pairs = ((10.0572, 0.0271), (1.2345, 0.0996), (60.25, 1.25))
    return {
        ("rounded", f"{value:g} ± {u:g}"): " ± ".join(rounded_pair(value, u)) for value, u in pairs
    }
