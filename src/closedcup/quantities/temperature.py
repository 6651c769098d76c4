"""Temperatures and temperature differences, which are not the same kind of thing."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from closedcup.errors import InputError
from closedcup.quantities.reading import read_quantity

ABSOLUTE_ZERO_C: Final = -273.15

_UNITS: Final = {
    "degc": "degC",
    "°c": "degC",
    "c": "degC",
    "celsius": "degC",
    "degf": "degF",
    "°f": "degF",
    "f": "degF",
    "fahrenheit": "degF",
    "k": "K",
    "kelvin": "K",
}
_SIGNS: Final = {"degC": "°C", "degF": "°F", "K": "K"}


@dataclass(frozen=True, slots=True)
class TemperatureDifference:
    """A difference as typed: 3 degF is 1.67 °C (and 1.67 K)."""

    value: Decimal
    unit: str

    @property
    def c(self) -> float:
        """The difference in degrees Celsius (equal to kelvins)."""
        scale = Decimal(5) / Decimal(9) if self.unit == "degF" else Decimal(1)
        return float(self.value * scale)

    def __str__(self) -> str:
        return f"{self.value} {_SIGNS[self.unit]}"


@dataclass(frozen=True, slots=True)
class Temperature:
    """A temperature as typed, with its unit and its decimals."""

    value: Decimal
    unit: str

    @property
    def c(self) -> float:
        """The temperature in degrees Celsius, without binary noise in the conversion."""
        if self.unit == "degF":
            return float((self.value - 32) * 5 / 9)
        if self.unit == "K":
            return float(self.value - Decimal("273.15"))
        return float(self.value)

    def __str__(self) -> str:
        return f"{self.value} {_SIGNS[self.unit]}"


def parse_temperature(text: str, *, where: str = "temperature") -> Temperature:
    """Read "61.5 degC", "61.5 °C", "142.7 degF" or "334.65 K".

    Raises InputError for a bare number, an unknown unit or a value below absolute zero.
    """
    value, unit = read_quantity(text, _UNITS, what="temperature", example="61.5 degC", where=where)
    temperature = Temperature(value, unit)
    if temperature.c < ABSOLUTE_ZERO_C:
        raise InputError(
            "impossible-temperature",
            f"{temperature} is below absolute zero.",
            where=where,
            fix="Check the sign and the unit.",
        )
    return temperature


def parse_difference(text: str, *, where: str = "temperature difference") -> TemperatureDifference:
    """Read "0.3 degC", "0.3 K" or "3 degF" as a difference (no offset of 32)."""
    value, unit = read_quantity(
        text, _UNITS, what="temperature difference", example="0.3 degC", where=where
    )
    return TemperatureDifference(value, unit)
