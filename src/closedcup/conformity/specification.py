"""What is asked of a value: one limit, or a lower and an upper one, each with its operator."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from closedcup.errors import InputError
from closedcup.quantities import Limit, Temperature, parse_limit

_LOWER = frozenset({">", ">="})


@dataclass(frozen=True, slots=True)
class Specification:
    """A lower limit, an upper limit, or both; on the scale corrected to 101.3 kPa."""

    lower: Limit | None = None
    upper: Limit | None = None

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The limits that there are, the lower one first."""
        return tuple(limit for limit in (self.lower, self.upper) if limit is not None)

    @property
    def is_two_sided(self) -> bool:
        """Whether there are two limits."""
        return len(self.limits) == 2

    @property
    def width_c(self) -> float | None:
        """The distance of two limits; None for one."""
        if self.lower is None or self.upper is None:
            return None
        return self.upper.corrected_c - self.lower.corrected_c

    def holds(self, corrected_c: float) -> bool:
        """Say whether a corrected value meets every limit as written."""
        return all(limit.holds(corrected_c) for limit in self.limits)

    def nearest(self, corrected_c: float) -> Limit:
        """Return the limit that lies nearest to a value."""
        return min(self.limits, key=lambda limit: abs(limit.corrected_c - corrected_c))

    def moved(self, inwards_c: float) -> "Specification":
        """Return the acceptance limits: each limit moved inwards (outwards where negative).

        Raises InputError where guard bands leave nothing between two limits.
        """
        if not inwards_c:
            return self
        inside = Specification(_shifted(self.lower, inwards_c), _shifted(self.upper, -inwards_c))
        if inside.width_c is not None and inside.width_c <= 0:
            raise InputError(
                "acceptance-empty",
                f"Guard bands of {inwards_c:.2f} °C leave nothing between {self}.",
                where="limit",
                fix="Agree wider limits, a smaller guard band, or a result of less uncertainty "
                "(the mean of several, or of several laboratories).",
            )
        return inside

    def __str__(self) -> str:
        return " and ".join(str(limit) for limit in self.limits)


def _shifted(limit: Limit | None, by_c: float) -> Limit | None:
    if limit is None:
        return None
    moved_c = round(limit.corrected_c + by_c, 9)
    return Limit(limit.operator, Temperature(Decimal(repr(moved_c)), "degC"))


def specification_of(limits: Sequence[Limit]) -> Specification:
    """Return one or two limits as a specification.

    Raises InputError for none, for more than two, for two on the same side, and for two that
    leave nothing between them.
    """
    if not 1 <= len(limits) <= 2:
        raise InputError(
            "limits-number",
            f"{len(limits)} limits make no specification.",
            where="limit",
            fix="Give one limit, or a lower and an upper one: “>=38 degC and <=60 degC”.",
        )
    lower = [limit for limit in limits if limit.operator in _LOWER]
    upper = [limit for limit in limits if limit.operator not in _LOWER]
    if len(lower) > 1 or len(upper) > 1:
        side = "lower" if lower else "upper"
        raise InputError(
            "limits-same-side",
            f"“{limits[0]}” and “{limits[1]}” are both {side} limits.",
            where="limit",
            fix="Keep the stricter one, or turn the operator of the other.",
        )
    found = Specification(lower[0] if lower else None, upper[0] if upper else None)
    if found.width_c is not None and found.width_c <= 0:
        raise InputError(
            "limits-crossed",
            f"Nothing lies between {found}.",
            where="limit",
            fix="Check which limit is the lower one.",
        )
    return found


def parse_specification(text: str, *, where: str = "limit") -> Specification:
    """Read ">=60 degC", or two limits joined by "and" or a comma; no operator is guessed."""
    parts = [part for part in re.split(r"\s+and\s+|[,;]", text.strip()) if part.strip()]
    return specification_of([parse_limit(part, where=where) for part in parts or [text]])
