"""How fast an apparatus brings its cup from one temperature to another."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class CupRates:
    """Heating and cooling of an apparatus's cup as noted, °C a minute, and where known from.

    `basis` says in words what they rest on: a trace, the bench's own entries, what the maker says.
    """

    apparatus: str
    heats_c_per_min: Decimal
    cools_c_per_min: Decimal
    basis: str
    noted_on: str
