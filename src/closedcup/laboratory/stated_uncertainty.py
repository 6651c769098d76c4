"""Uncertainties that the laboratory puts on record, for the budgets of its results."""

from dataclasses import dataclass
from decimal import Decimal
from math import inf
from typing import Final

from closedcup.errors import InputError

UNITS: Final = {
    "barometer": "kPa",
    "slope": "°C/kPa",
    "probe": "°C",
    "operator": "°C",
    "volume": "°C",
}
"""What an uncertainty can be stated of, and its unit."""
SHAPES: Final = ("standard", "half-width")
"""How it is stated: a standard uncertainty, or the half-width of a rectangle."""


@dataclass(frozen=True, slots=True)
class StatedUncertainty:
    """An uncertainty of one source, for one apparatus or, where that is "", for all.

    `value` is in the unit of `UNITS`, by its `shape`. `degrees_of_freedom` is None for infinite.
    `basis` says in words what it rests on: a certificate, a study.
    """

    source: str
    apparatus: str
    value: Decimal
    shape: str
    degrees_of_freedom: int | None
    basis: str
    stated_at: str

    @property
    def freedom(self) -> float:
        """Return the degrees of freedom as a number."""
        return inf if self.degrees_of_freedom is None else self.degrees_of_freedom


def check_source(source: str) -> str:
    """Return the name of a source; InputError with the list for another."""
    name = source.strip().lower()
    if name not in UNITS:
        raise InputError(
            "source-unknown",
            f"No uncertainty is stated of “{source}”.",
            where="source",
            fix=f"One of: {', '.join(UNITS)}.",
        )
    return name
