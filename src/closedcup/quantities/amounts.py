"""Fractions and percentages, the only numbers that may stand without a unit."""

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from closedcup.errors import InputError


@dataclass(frozen=True, slots=True)
class Amount:
    """One component's share as typed: a name (or CAS number) and a fraction."""

    name: str
    fraction: Decimal


def parse_fraction(text: str, *, where: str = "fraction") -> tuple[Decimal, bool]:
    """Read "0.25" or "25 %"; return the fraction and whether it was typed as a percentage.

    Raises InputError for anything that is not a number, and for a negative number.
    """
    typed = text.strip().replace("\u2212", "-").replace(",", ".")
    percent = typed.endswith("%")
    try:
        number = Decimal(typed.rstrip("%").strip())
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise InputError(
            "not-a-fraction",
            f"“{text}” is not a fraction.",
            where=where,
            fix="Write 0.25 or 25 %.",
        )
    if number < 0:
        raise InputError(
            "negative-fraction",
            f"A fraction of {text.strip()} is negative.",
            where=where,
            fix="Every component's share must be zero or more.",
        )
    return (number / 100 if percent else number), percent


def parse_amount(text: str, *, where: str = "component") -> Amount:
    """Read "ethanol=0.3", "64-17-5=30 %" or "n-decane = 1".

    Raises InputError for anything else.
    """
    match = re.fullmatch(r"\s*(?P<name>.+?)\s*=\s*(?P<amount>[^=]+?)\s*", text)
    if match is None:
        raise InputError(
            "not-a-component",
            f"“{text}” does not name a component and its amount.",
            where=where,
            fix="Write NAME=AMOUNT, for example “ethanol=0.3”.",
        )
    fraction, _ = parse_fraction(match["amount"], where=f"{where} {match['name']}")
    return Amount(match["name"], fraction)
