"""Decide whether a result meets a limit, by a decision rule agreed before testing.

Simple acceptance compares the result with the limit itself. Guarded acceptance moves the
acceptance limit inwards by a guard band w, so that a result that conforms does so with a stated
confidence: w = U where an expanded uncertainty is given (ILAC-G8:09/2019; memory), and
w = 0.59 R for a single result of a method with reproducibility R (ISO 4259-2, ASTM D3244: the
supplier's side, 95 % one-sided; 1.6449 / 2.7719 = 0.5934, which the rule prints as 0.59).
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from closedcup.errors import InputError, Refused
from closedcup.quantities import Limit, Temperature

DecisionRule = Literal["simple", "guarded"]

# Reproducibility is the 95 % difference between two single results: R = 1.96 √2 s = 2.7719 s
# (ISO 4259; the factor follows from the normal distribution).
REPRODUCIBILITY_TO_DEVIATION: Final = 1.959964 * math.sqrt(2)
# The guard band of a single result in units of R, as the rule prints it (ISO 4259-2; memory).
GUARD_BAND_FACTOR: Final = 0.59


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a result may lie from the truth, and the guard band that goes with it.

    All in °C of difference. `words` says where it comes from.
    """

    standard_c: float
    guard_band_c: float
    words: str


@dataclass(frozen=True, slots=True)
class ConformityDecision:
    """Whether a corrected result conforms, and with what probability.

    `acceptance_limit_c` is where acceptance begins (the limit, or the limit moved by the guard
    band). `probability_conforming` is that of the true value meeting the limit, normal about the
    result; None where no uncertainty is known. `notes` hold cautions.
    """

    conforms: bool
    result_c: float
    limit: Limit
    acceptance_limit_c: float
    guard_band_c: float
    probability_conforming: float | None
    rule: str
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, object]:
        """Return the object printed with `--json`."""
        return {
            "conforms": self.conforms,
            "result_c": self.result_c,
            "limit": str(self.limit),
            "acceptance_limit_c": self.acceptance_limit_c,
            "guard_band_c": self.guard_band_c,
            "probability_conforming": self.probability_conforming,
            "rule": self.rule,
            "notes": list(self.notes),
        }


def _require_positive(value: float, what: str, where: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(
            "not-positive",
            f"A {what} of {value:g} °C is not possible.",
            where=where,
            fix="Give a difference above zero.",
        )


def spread_from_uncertainty(expanded_c: float, coverage_factor: float = 2.0) -> Spread:
    """Return the spread of an expanded uncertainty U = k u; the guard band is U.

    Raises InputError unless both are positive.
    """
    _require_positive(expanded_c, "expanded uncertainty", "uncertainty")
    _require_positive(coverage_factor, "coverage factor", "coverage")
    words = f"the expanded uncertainty U = {expanded_c:g} °C, k = {coverage_factor:g}"
    return Spread(expanded_c / coverage_factor, expanded_c, words)


def spread_from_reproducibility(reproducibility_c: float) -> Spread:
    """Return the spread of a method's reproducibility R, for a single result.

    u = R / 2.7719, guard band 0.59 R. Raises InputError unless R is positive.
    """
    _require_positive(reproducibility_c, "reproducibility", "method")
    words = f"0.59 R, with the reproducibility R = {reproducibility_c:.3g} °C of the method"
    return Spread(
        standard_c=reproducibility_c / REPRODUCIBILITY_TO_DEVIATION,
        guard_band_c=GUARD_BAND_FACTOR * reproducibility_c,
        words=words,
    )


def probability_of_meeting(limit: Limit, result_c: float, standard_c: float) -> float:
    """Return the probability that the true value meets a one-sided limit (JCGM 106:2012).

    p = Φ((T - y) / u) for an upper limit T, Φ((y - T) / u) for a lower one; normal about the
    result y with standard uncertainty u.
    """
    distance = limit.corrected_c - result_c
    if limit.operator in (">", ">="):
        distance = -distance
    return 0.5 * math.erfc(-distance / (standard_c * math.sqrt(2)))


def _acceptance_limit(limit: Limit, guard_band_c: float) -> Limit:
    if not guard_band_c:
        return limit
    inwards = guard_band_c if limit.operator in (">", ">=") else -guard_band_c
    moved_c = round(limit.corrected_c + inwards, 9)
    return Limit(limit.operator, Temperature(Decimal(repr(moved_c)), "degC"))


def _rule_words(rule: DecisionRule, limit: Limit, acceptance: Limit, spread: Spread | None) -> str:
    if rule == "simple" or spread is None:
        return f"simple acceptance: conforms where the result is {limit}"
    return (
        f"guarded acceptance: conforms where the result is {acceptance.operator} "
        f"{acceptance.corrected_c:.2f} °C, the limit {limit} moved inwards by "
        f"{spread.guard_band_c:.2f} °C ({spread.words})"
    )


def _notes(
    *, safety_limit: bool, rule: DecisionRule, meets: bool, conforms: bool, spread: Spread | None
) -> tuple[str, ...]:
    notes = []
    if safety_limit:
        notes.append(
            "A safety limit is given no tolerance: the result is taken as measured, and the "
            "precision of the method excuses nothing."
        )
    if rule == "guarded" and meets and not conforms:
        notes.append("The result meets the limit itself but lies in the guard band.")
    if spread is None:
        notes.append("No uncertainty is known, so no probability is given.")
    return tuple(notes)


def decide(
    result_c: float,
    limit: Limit,
    *,
    rule: DecisionRule = "simple",
    spread: Spread | None = None,
    safety_limit: bool = False,
) -> ConformityDecision:
    """Decide whether a corrected, unrounded result in °C conforms to a limit.

    Raises Refused for guarded acceptance without an uncertainty or a reproducibility, InputError
    for a result that is not finite. Sources: JCGM 106:2012 (memory), ISO 4259-2 and ASTM D3244
    (the 0.59 R rule read in a guide that quotes ISO 4259:1992 clause 9; the rest memory). That a
    safety limit takes the result as measured: SOLAS II-2 as amended by MSC 106 (read).
    """
    if not math.isfinite(result_c):
        raise InputError("not-finite", f"The result is {result_c}.", where="result")
    if rule == "guarded" and spread is None:
        raise Refused(
            "uncertainty-missing",
            "Guarded acceptance needs an uncertainty.",
            where="uncertainty",
            fix="Give the expanded uncertainty or the test method, or agree on simple acceptance.",
        )
    guard_band_c = spread.guard_band_c if rule == "guarded" and spread is not None else 0.0
    acceptance = _acceptance_limit(limit, guard_band_c)
    conforms = acceptance.holds(result_c)
    probability = None
    if spread is not None:
        probability = probability_of_meeting(limit, result_c, spread.standard_c)
    return ConformityDecision(
        conforms=conforms,
        result_c=result_c,
        limit=limit,
        acceptance_limit_c=acceptance.corrected_c,
        guard_band_c=guard_band_c,
        probability_conforming=probability,
        rule=_rule_words(rule, limit, acceptance, spread),
        notes=_notes(
            safety_limit=safety_limit,
            rule=rule,
            meets=limit.holds(result_c),
            conforms=conforms,
            spread=spread,
        ),
    )
