"""The place where the work is done."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Site:
    """A laboratory: its name and address as printed on reports, and its altitude.

    The altitude in metres decides which barometer readings are possible here.
    `demonstration` marks a laboratory that only shows how the program works.
    """

    name: str
    address: str
    contact: str
    altitude_m: float
    demonstration: bool = False
