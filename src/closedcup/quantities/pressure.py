"""Pressures, and the standard atmosphere that tells what a place's pressure can be."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from closedcup.errors import InputError
from closedcup.quantities.reading import read_quantity

STANDARD_KPA: Final = 101.325

# Pascal in each unit. The millimetre of mercury is the conventional one (13595.1 kg/m3 times
# 9.80665 m/s2; ISO 80000-4, memory); 760 of them are 101.32501 kPa, 0.01 Pa more than 760 torr.
_PASCAL: Final = {
    "Pa": Decimal(1),
    "hPa": Decimal(100),
    "kPa": Decimal(1000),
    "mbar": Decimal(100),
    "bar": Decimal(100000),
    "mmHg": Decimal("133.322387415"),
    "torr": Decimal(101325) / Decimal(760),
    "inHg": Decimal("133.322387415") * Decimal("25.4"),
    "atm": Decimal(101325),
    "psi": Decimal("6894.757293168"),
}
_UNITS: Final = {unit.lower(): unit for unit in _PASCAL}

# Outside this span no weather at any inhabited place reaches (Everest's summit is about 33 kPa,
# the highest sea-level reading about 108.5 kPa; memory).
_LOWEST_KPA: Final = 33.0
_HIGHEST_KPA: Final = 110.0


@dataclass(frozen=True, slots=True)
class Pressure:
    """A pressure as typed, with its unit and its decimals."""

    value: Decimal
    unit: str

    @property
    def kpa(self) -> float:
        """The pressure in kilopascal."""
        return float(self.value * _PASCAL[self.unit] / 1000)

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"


def parse_pressure(text: str, *, where: str = "pressure") -> Pressure:
    """Read "95.2 kPa", "714 mmHg", "28.1 inHg" or "952 hPa".

    Raises InputError for a bare number, an unknown unit, or a value that no barometer on this
    planet shows (33 to 110 kPa), which is how a wrong unit is caught.
    """
    value, unit = read_quantity(text, _UNITS, what="pressure", example="95.2 kPa", where=where)
    pressure = Pressure(value, unit)
    if not _LOWEST_KPA <= pressure.kpa <= _HIGHEST_KPA:
        likely = [
            f"{value} {other}"
            for other in ("kPa", "hPa", "mmHg", "inHg", "psi", "bar")
            if _LOWEST_KPA <= float(value * _PASCAL[other] / 1000) <= _HIGHEST_KPA
        ]
        meant = f" Did you mean {' or '.join(likely)}?" if likely else ""
        raise InputError(
            "impossible-pressure",
            f"{pressure} is {pressure.kpa:.4g} kPa, outside what a barometer shows "
            f"({_LOWEST_KPA:g} to {_HIGHEST_KPA:g} kPa).",
            where=where,
            fix=f"Check the unit.{meant}",
        )
    return pressure


def parse_pressure_difference(text: str, *, where: str = "pressure difference") -> Pressure:
    """Read "0.1 kPa" or "1 mmHg" as a difference: of any size, not below zero.

    Raises InputError for anything else.
    """
    value, unit = read_quantity(
        text, _UNITS, what="pressure difference", example="0.1 kPa", where=where
    )
    if value < 0:
        raise InputError(
            "negative-pressure", f"{value} {unit} is below zero.", where=where, fix="Give a size."
        )
    return Pressure(value, unit)


def standard_pressure_kpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere at a geometric altitude.

    p = 101.325 (1 - 0.0065 H / 288.15)^5.25588 with H the geopotential altitude,
    H = r z / (r + z), r = 6 356 766 m. Valid from -500 m to 11 000 m. Source: ISO 2533:1975
    (memory); checked against the package `ambiance`.
    """
    earth_radius_m = 6_356_766.0
    geopotential_m = earth_radius_m * altitude_m / (earth_radius_m + altitude_m)
    return STANDARD_KPA * float((1 - 0.0065 * geopotential_m / 288.15) ** 5.25588)
