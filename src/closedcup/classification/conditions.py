"""One condition of a decision table: true, false, or open for want of evidence.

Temperatures are compared unrounded, in full precision, with the limit in the unit that the rule
gives it in (quantities.Limit), so 140 °F and 60 °C are one number and 73 °F is not 22.8 °C.
"""

import operator
import re
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from closedcup.classification.evidence import LABELS, Evidence
from closedcup.classification.products import product_groups
from closedcup.errors import Damaged
from closedcup.quantities import Limit, Temperature, parse_difference, parse_limit

Truth = bool | None

_COMPARISONS: Final[Mapping[str, Callable[[float, float], bool]]] = {
    "<": operator.lt,
    "<=": operator.le,
    "=": operator.eq,
    ">=": operator.ge,
    ">": operator.gt,
}

_TEMPERATURES: Final = {
    "boiling": "boiling_c",
    "fire_point": "fire_point_c",
    "melting": "melting_c",
    "open_cup": "open_cup_c",
}
_DIFFERENCES: Final = {"flash_above_carriage": "carried_at_c", "flash_above_use": "used_at_c"}
_YES_NO: Final = (
    "sustains_combustion",
    "other_hazards",
    "environmentally_hazardous",
    "water_miscible",
    "bulk",
    "aerosol",
    "other_class_first",
    "burns",
)
_WORDS: Final = ("mode", "product")
_NUMBERS: Final = frozenset(LABELS) - {"flash", *_TEMPERATURES, *_DIFFERENCES, *_YES_NO, *_WORDS}


def field_of(quantity: str) -> str:
    """Return the name of the piece of evidence that a quantity of a rule is."""
    if quantity == "flash":
        return "flash_c"
    return {**_TEMPERATURES, **_DIFFERENCES}.get(quantity, quantity)


class Condition(ABC):
    """A condition on one piece of evidence; `quantity` is a key of evidence.LABELS."""

    __slots__ = ()
    quantity: str

    @abstractmethod
    def holds(self, evidence: Evidence) -> Truth:
        """Return True, False, or None where the evidence leaves it open."""

    def flash_limit(self, evidence: Evidence) -> Limit | None:  # noqa: ARG002 - for subclasses
        """Return the limit that this condition sets to the flash point; most set none."""
        return None

    def with_limit(
        self,
        printed: Temperature,  # noqa: ARG002 - for subclasses
        other: Temperature,  # noqa: ARG002 - for subclasses
    ) -> "Condition":
        """Return the condition with a printed temperature limit read in its other form."""
        return self


def _reread(limit: Limit, printed: Temperature, other: Temperature) -> Limit:
    return Limit(limit.operator, other) if limit.temperature == printed else limit


def _holds_within(limit: Limit, low_c: float, high_c: float) -> Truth:
    """Judge a limit for a flash point above `low_c` and at or below `high_c` (or equal to both)."""
    if low_c == high_c:
        return limit.holds(low_c)
    low_reaches = round(low_c - limit.corrected_c, 6) >= 0
    if limit.operator in ("<", "<="):
        return True if limit.holds(high_c) else (False if low_reaches else None)
    return True if low_reaches else (None if limit.holds(high_c) else False)


@dataclass(frozen=True, slots=True)
class FlashCondition(Condition):
    """A limit to the flash point."""

    limit: Limit
    quantity: str = "flash"

    def holds(self, evidence: Evidence) -> Truth:
        """Compare the flash point, or the bracket it lies in."""
        return _holds_within(self.limit, *evidence.flash_bracket())

    def flash_limit(self, evidence: Evidence) -> Limit | None:  # noqa: ARG002 - as the others
        """Return the limit itself."""
        return self.limit

    def with_limit(self, printed: Temperature, other: Temperature) -> Condition:
        """Replace the limit where it is the printed one."""
        return FlashCondition(_reread(self.limit, printed, other))


@dataclass(frozen=True, slots=True)
class DifferenceCondition(Condition):
    """A limit to how far the flash point lies above the temperature of carriage or use."""

    quantity: str
    operator: str
    difference_c: float

    def holds(self, evidence: Evidence) -> Truth:
        """Compare the flash point with the other temperature plus the difference."""
        limit = self.flash_limit(evidence)
        return None if limit is None else _holds_within(limit, *evidence.flash_bracket())

    def flash_limit(self, evidence: Evidence) -> Limit | None:
        """Return the limit to the flash point once the other temperature is known."""
        other_c = getattr(evidence, _DIFFERENCES[self.quantity])
        if other_c is None:
            return None
        limit_c = round(other_c + self.difference_c, 9)
        return Limit(self.operator, Temperature(Decimal(repr(limit_c)), "degC"))


@dataclass(frozen=True, slots=True)
class TemperatureCondition(Condition):
    """A limit to another temperature of the sample."""

    quantity: str
    limit: Limit

    def holds(self, evidence: Evidence) -> Truth:
        """Compare at full precision."""
        value_c = getattr(evidence, _TEMPERATURES[self.quantity])
        return None if value_c is None else self.limit.holds(value_c)

    def with_limit(self, printed: Temperature, other: Temperature) -> Condition:
        """Replace the limit where it is the printed one."""
        return TemperatureCondition(self.quantity, _reread(self.limit, printed, other))


@dataclass(frozen=True, slots=True)
class NumberCondition(Condition):
    """A limit to a number whose unit is in its name."""

    quantity: str
    operator: str
    number: Decimal

    def holds(self, evidence: Evidence) -> Truth:
        """Compare at a millionth, so that binary noise decides nothing."""
        value = getattr(evidence, self.quantity)
        if value is None:
            return None
        difference = round(float(value) - float(self.number), 6)
        return _COMPARISONS[self.operator](difference, 0)


@dataclass(frozen=True, slots=True)
class WordCondition(Condition):
    """One of several words (mode of carriage, product group); `negated` for none of them."""

    quantity: str
    words: frozenset[str]
    negated: bool = False

    def holds(self, evidence: Evidence) -> Truth:
        """Look the word up."""
        word = getattr(evidence, self.quantity)
        if word is None:
            return None
        found = product_groups(word) if self.quantity == "product" else frozenset({word})
        return bool(found & self.words) is not self.negated


@dataclass(frozen=True, slots=True)
class YesNoCondition(Condition):
    """A yes or a no."""

    quantity: str
    value: bool

    def holds(self, evidence: Evidence) -> Truth:
        """Compare, if it is known."""
        value = getattr(evidence, self.quantity)
        return None if value is None else value is self.value


def _one_condition(quantity: str, entry: object, where: str) -> Condition:
    if quantity in _YES_NO and isinstance(entry, bool):
        return YesNoCondition(quantity, entry)
    if not isinstance(entry, str):
        raise Damaged("condition-unreadable", f"{quantity} = {entry!r}", where=where)
    if quantity == "flash":
        return FlashCondition(parse_limit(entry, where=where))
    if quantity in _TEMPERATURES:
        return TemperatureCondition(quantity, parse_limit(entry, where=where))
    match = re.fullmatch(r"(?P<operator><=|>=|<|>|=)\s*(?P<rest>.+)", entry)
    if match is None or (quantity not in _DIFFERENCES and quantity not in _NUMBERS):
        raise Damaged("condition-unreadable", f"{quantity} = {entry!r}", where=where)
    if quantity in _DIFFERENCES:
        difference = parse_difference(match["rest"], where=where)
        return DifferenceCondition(quantity, match["operator"], difference.c)
    return NumberCondition(quantity, match["operator"], Decimal(match["rest"]))


def read_conditions(table: Mapping[str, object], *, where: str) -> tuple[Condition, ...]:
    """Read a `when` table: each key a piece of evidence, each entry a limit or several.

    flash = [">=23 degC", "<=60 degC"]; viscosity_mm2_s = ">20"; sustains_combustion = false;
    mode = ["road", "sea"]; product = "not gas oil". Raises Damaged for anything else.
    """
    conditions: list[Condition] = []
    for quantity, entry in table.items():
        entries = entry if isinstance(entry, list) else [entry]
        if quantity in _WORDS:
            words = [str(word) for word in entries]
            negated = words[0].startswith("not ")
            conditions.append(
                WordCondition(quantity, frozenset(w.removeprefix("not ") for w in words), negated)
            )
        else:
            conditions.extend(_one_condition(quantity, one, where) for one in entries)
    return tuple(conditions)
