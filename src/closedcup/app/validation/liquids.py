"""Estimates of pure flash points beside measured ones; vapour pressures at the boiling point."""

from collections.abc import Callable, Mapping
from importlib.resources import files
from typing import Final

from closedcup.app.validation.comparison import Comparison
from closedcup.mixtures import Liquid, find
from closedcup.mixtures.pure_estimates import (
    KELVIN,
    STANDARD_PA,
    catoire_naudet,
    class_linear,
    heat_of_vaporisation_kj_mol,
    prugh,
    saturation_at_half_stoichiometric,
    saturation_at_limit,
    stoichiometric_percent,
    temperature_k,
)
from closedcup.sources import load_bibliography, load_rows, parse_known

_DATA: Final = files(__package__) / "data"


def _boiling_c(liquid: Liquid) -> float | None:
    correlation = liquid.vapour_pressure
    found = None if correlation is None else temperature_k(correlation, STANDARD_PA)
    return None if found is None else found - KELVIN


def _propane_percent(_: Liquid) -> float | None:
    """Return the stoichiometric mixture of propane, a gas that the catalogue does not hold."""
    return stoichiometric_percent({"C": 3, "H": 8})


_KINDS: Final[Mapping[str, tuple[str, str, Callable[[Liquid], float | None]]]] = {
    "boiling": ("temperature_k", "boiling point of {}, °C", _boiling_c),
    "vaporisation": (
        "heat_of_vaporisation_kj_mol",
        "heat of vaporisation of {} at 25 °C, kJ/mol",
        heat_of_vaporisation_kj_mol,
    ),
    "stoichiometric": ("stoichiometric_percent", "stoichiometric propane, %", _propane_percent),
    "catoire": ("catoire_naudet", "flash point of {} by Catoire and Naudet, °C", catoire_naudet),
    "prugh": ("prugh", "flash point of {} by Prugh, °C", prugh),
    "class": ("class_linear", "flash point of {} by its class, °C", class_linear),
    "limit": (
        "saturation_at_limit",
        "flash point of {} from its flammable limit, °C",
        saturation_at_limit,
    ),
    "half": (
        "saturation_at_half_stoichiometric",
        "flash point of {} from the stoichiometric mixture, °C",
        saturation_at_half_stoichiometric,
    ),
}


def comparisons() -> list[Comparison]:
    """Make the comparisons of this part.

    An estimate may differ from the measured flash point by the error that is shown with it for
    the class of the liquid (95 % of liquids lie nearer).
    """
    bibliography = load_bibliography(_DATA / "liquid_sources.csv")
    return [
        _comparison(row, bibliography.cite(row["source"]))
        for row in load_rows(_DATA / "liquid_points.csv", bibliography)
    ]


def _comparison(row: Mapping[str, str], source: str) -> Comparison:
    function, quantity, compute = _KINDS[row["kind"]]
    computed = compute(find(row["subject"]))
    assert computed is not None  # noqa: S101 - the liquids of the table are in every form's range
    return Comparison(
        function=f"mixtures.pure_estimates.{function}",
        quantity=quantity.format(row["subject"]),
        published=float(row["published"]),
        computed=computed,
        allowed=float(row["allowed"]),
        source=source,
        known=parse_known(row["known"], where=row["subject"]),
    )
