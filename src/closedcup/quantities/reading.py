"""Split what a person typed into a number and a unit; refuse a bare number."""

import re
from collections.abc import Mapping
from decimal import Decimal

from closedcup.errors import InputError

_NUMBER_AND_UNIT = re.compile(
    r"\s*(?P<number>[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>.*?)\s*$"
)


def read_quantity(
    text: str, units: Mapping[str, str], *, what: str, example: str, where: str = ""
) -> tuple[Decimal, str]:
    """Return the number as typed and the unit's one spelling.

    `units` maps every accepted spelling, in lower case without blanks, to the spelling used
    inside. A decimal comma is read as a point. Raises InputError for no number, no unit, an
    unknown unit, or a number that is not finite.
    """
    cleaned = text.replace("\u2212", "-").replace("\u00a0", " ").replace("\u202f", " ")
    match = _NUMBER_AND_UNIT.match(cleaned)
    if match is None:
        raise InputError(
            "not-a-quantity",
            f"“{text}” is not a {what}.",
            where=where,
            fix=f"Write a number and its unit, for example “{example}”.",
        )
    number = Decimal(match["number"].replace(",", "."))
    typed_unit = match["unit"]
    if not typed_unit:
        raise InputError(
            "unit-missing",
            f"“{text}” has no unit.",
            where=where,
            fix=f"Write the unit too, for example “{example}”; a bare number is not guessed.",
        )
    unit = units.get(typed_unit.lower().replace(" ", ""))
    if unit is None:
        known = ", ".join(sorted(set(units.values())))
        raise InputError(
            "unit-unknown",
            f"“{typed_unit}” is not a unit of {what}.",
            where=where,
            fix=f"Use one of: {known}.",
        )
    return number, unit
