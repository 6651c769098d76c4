"""A limit keeps its operator and its unit: "< 60 °C", "≤ 140 °F" and "≥ 60.0 °C" differ."""

import re
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.quantities.temperature import Temperature, parse_temperature

_OPERATORS: Final = {
    "<": "<",
    "<=": "<=",
    "=<": "<=",
    "≤": "<=",
    ">": ">",
    ">=": ">=",
    "=>": ">=",
    "≥": ">=",
}
_SIGNS: Final = {"<": "<", "<=": "≤", ">": ">", ">=": "≥"}


@dataclass(frozen=True, slots=True)
class Limit:
    """What is asked of a flash point (corrected to 101.3 kPa): an operator and a temperature."""

    operator: str
    temperature: Temperature

    @property
    def corrected_c(self) -> float:
        """The limit's temperature in degrees Celsius on the corrected scale."""
        return self.temperature.c

    def holds(self, corrected_c: float) -> bool:
        """Say whether a corrected flash point meets the limit as written.

        Compared at a millionth of a degree, so that 140 degF and 60 degC are one number.
        """
        difference = round(corrected_c - self.corrected_c, 6)
        match self.operator:
            case "<":
                return difference < 0
            case "<=":
                return difference <= 0
            case ">":
                return difference > 0
            case _:
                return difference >= 0

    def __str__(self) -> str:
        return f"{_SIGNS[self.operator]} {self.temperature}"


def parse_limit(text: str, *, where: str = "limit") -> Limit:
    """Read "<60 degC", "<= 140 degF" or "≥ 60.0 °C"; the operator is not guessed.

    Raises InputError without an operator or a unit.
    """
    match = re.fullmatch(r"\s*(?P<operator>[<>=≤≥]{0,2})\s*(?P<rest>.*)", text)
    operator = _OPERATORS.get(match["operator"]) if match else None
    if match is None or operator is None:
        raise InputError(
            "operator-missing",
            f"“{text}” does not say on which side of the limit the flash point must lie.",
            where=where,
            fix="Write the operator and the unit: “<60 degC”, “<=140 degF” or “>=60 degC”.",
        )
    return Limit(operator, parse_temperature(match["rest"], where=where))
