"""NIST's Statistical Reference Datasets: certified figures to at least nine correct digits.

The constructed sets follow their rules; the digits of π are those that NIST printed, one of which
is wrong on purpose of the data set (index 956: 3 for 8), since the certified mean belongs to them.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.published import compared, series
from closedcup.metrology.line_fit import fit_line
from closedcup.metrology.summary import Regression, one_way, polynomial, regress, univariate

Figures = dict[tuple[str, str], float | str]
Floats = NDArray[np.float64]


def comparisons() -> list[Comparison]:
    """Compare with `data/certified_figures.csv`."""
    computed = {**_univariate(), **_one_way(), **_regressions()}
    return compared("certified_figures.csv", computed)


def _constructed(whole: int) -> Floats:
    """Return NumAcc2 to 4: c.2, then c.1 and c.3 in turn, 1001 values."""
    return np.array([float(f"{whole}.2"), *[float(f"{whole}.1"), float(f"{whole}.3")] * 500])


def _univariate() -> Figures:
    sets = {
        "Lottery": series("Lottery"),
        "Lew": series("Lew"),
        "Mavro": series("Mavro"),
        "Michelso": series("Michelso"),
        "NumAcc1": np.array([10000001.0, 10000003.0, 10000002.0]),
        "NumAcc2": _constructed(1),
        "NumAcc3": _constructed(1_000_000),
        "NumAcc4": _constructed(10_000_000),
        "PiDigits": series("PiDigits"),
    }
    figures: Figures = {}
    for name, values in sets.items():
        found = univariate(values)
        figures[name, "mean"] = found.mean
        figures[name, "standard deviation"] = found.deviation
        figures[name, "autocorrelation"] = found.autocorrelation
    return figures


def _levels(whole: int, repeats: int) -> list[Floats]:
    """Return Simon and Lesage's nine groups: a tenth, then one below and one above in turn."""
    return [
        np.array(
            [
                float(f"{whole}.{tenth}"),
                *[float(f"{whole}.{tenth - 1}"), float(f"{whole}.{tenth + 1}")] * (repeats // 2),
            ]
        )
        for tenth in (4, 3, 5, 3, 5, 3, 5, 3, 5)
    ]


def _one_way() -> Figures:
    sets = {
        "SiRstv": list(series("SiRstv").reshape(5, 5)),
        "AtmWtAg": list(series("AtmWtAg").reshape(2, 24)),
    }
    for place, whole in enumerate((1, 1_000_000, 1_000_000_000_000)):
        for step, repeats in enumerate((21, 201, 2001)):
            sets[f"SmLs0{3 * place + step + 1}"] = _levels(whole, repeats)
    figures: Figures = {}
    for name, groups in sets.items():
        found = one_way(groups)
        figures[name, "F"] = found.f
        figures[name, "residual deviation"] = found.residual_deviation
    return figures


@cache
def _fitted() -> dict[str, Regression]:
    pairs = {name: (series(f"{name} x"), series(f"{name} y")) for name in _DEGREES}
    fitted = {
        name: polynomial(x, y, _DEGREES[name])
        if _DEGREES[name]
        else regress([x], y, constant=False)
        for name, (x, y) in pairs.items()
    }
    table = series("Longley").reshape(16, 7)
    fitted["Longley"] = regress(list(table[:, 1:].T), table[:, 0])
    return fitted


_DEGREES = {
    "Norris": 1,
    "Pontius": 2,
    "NoInt1": 0,
    "NoInt2": 0,
    **{f"Wampler{number}": 5 for number in range(1, 6)},
    "Filip": 10,
}
"""Degree of each polynomial; 0 for a line through the origin."""


def _regressions() -> Figures:
    figures: Figures = {}
    for name, found in _fitted().items():
        figures[name, "residual deviation"] = found.residual_deviation
        first = 1 if name.startswith("NoInt") else 0
        for place, (b, u) in enumerate(
            zip(found.coefficients, found.uncertainties, strict=True), start=first
        ):
            figures[name, f"B{place}"] = float(b)
            if name != "Longley":
                figures[name, f"u of B{place}"] = float(u)
    line = fit_line(series("Norris x"), series("Norris y"))
    figures["Norris as a calibration line", "B0"] = line.intercept
    figures["Norris as a calibration line", "B1"] = line.slope
    figures["Norris as a calibration line", "u of B0"] = line.intercept_uncertainty
    figures["Norris as a calibration line", "u of B1"] = line.slope_uncertainty
    return figures
