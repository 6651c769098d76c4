"""Models of activity, lines, fuels and evaporation beside published or independently known ones."""

from importlib.resources import files
from typing import Final

import numpy as np

from closedcup.app.validation.comparison import Comparison
from closedcup.mixtures import activity_model, find
from closedcup.sources import load_bibliography, load_rows, parse_known

_DATA: Final = files(__package__) / "data"
_BIBLIOGRAPHY: Final = load_bibliography(_DATA / "mixtures_sources.csv")
Row = dict[str, str]


def comparisons() -> list[Comparison]:
    """Make the comparisons of this part."""
    return [_dortmund(row) for row in _points("dortmund gamma")]


def _points(kind: str) -> list[Row]:
    rows = load_rows(_DATA / "blends_points.csv", _BIBLIOGRAPHY)
    return [row for row in rows if row["kind"] == kind]


def _compare(function: str, quantity: str, computed: float, row: Row) -> Comparison:
    return Comparison(
        function=function,
        quantity=quantity,
        published=float(row["published"]),
        computed=computed,
        allowed=float(row["allowed"]),
        source=_BIBLIOGRAPHY.cite(row["source"]),
        known=parse_known(row["known"], where=quantity),
    )


def _dortmund(row: Row) -> Comparison:
    """Compare one activity coefficient of ethanol, octane, toluene, butanone (.2 .3 .1 .4)."""
    liquids = [find(name) for name in ("ethanol", "octane", "toluene", "butanone")]
    model = activity_model("dortmund", liquids)
    ln_gamma = model.ln_gamma(np.array([[0.2, 0.3, 0.1, 0.4]]), np.array([300.0]))
    computed = float(np.exp(ln_gamma[0, int(row["at"])]))
    quantity = f"activity coefficient of {row['subject']} by the modified form at 300 K"
    return _compare("mixtures.activity.dortmund.Dortmund", quantity, computed, row)
