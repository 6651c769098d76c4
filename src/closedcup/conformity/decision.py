"""Decide whether a result meets a limit, by a decision rule agreed before testing.

Simple acceptance compares the result with the limit itself. Guarded acceptance moves each limit
inwards by a guard band w, so that a result that conforms does so with a stated confidence: w = U
where an expanded uncertainty is given (ILAC-G8:09/2019; memory), w = 0.59 R for a single result of
a method with reproducibility R (ISO 4259-2, ASTM D3244: the supplier's side, 95 % one-sided;
1.6449 / 2.7719 = 0.5934, which the rule prints as 0.59), or w = z u for a largest risk agreed. The
recipient's rule moves them outwards by 0.59 R: rejected only where failing is 95 % certain.
"""

import math
from dataclasses import dataclass

from closedcup.conformity.rules import DecisionRule, guard_for_risk, parse_rule
from closedcup.conformity.specification import Specification, specification_of
from closedcup.conformity.spread import Spread
from closedcup.conformity.words import Finding, decision_words, notes_of, rule_words
from closedcup.errors import InputError, Refused
from closedcup.quantities import Limit


@dataclass(frozen=True, slots=True)
class ConformityDecision:
    """Whether a corrected result conforms, and with what probability.

    `acceptance` is where acceptance begins and ends (the specification, or its limits moved by the
    guard band, which is negative where the rule gives tolerance). `probability_conforming` is that
    of the true value meeting every limit, normal about the result; None where no uncertainty is
    known. `risk` is the chance that this decision is wrong: the consumer's where it conforms, the
    producer's where it does not. `words` say all of it so that it can be defended; `notes` hold
    cautions.
    """

    conforms: bool
    result_c: float
    specification: Specification
    acceptance: Specification
    guard_band_c: float
    agreed: DecisionRule
    probability_conforming: float | None
    rule: str
    words: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def acceptance_limit_c(self) -> float:
        """Where acceptance begins on the side of the limit nearest to the result."""
        return self.acceptance.nearest(self.result_c).corrected_c

    @property
    def risk(self) -> float | None:
        """The chance that this decision is wrong."""
        if self.probability_conforming is None:
            return None
        return 1 - self.probability_conforming if self.conforms else self.probability_conforming

    def as_json(self) -> dict[str, object]:
        """Return the object printed with `--json`."""
        lower, upper = self.acceptance.lower, self.acceptance.upper
        return {
            "conforms": self.conforms,
            "result_c": self.result_c,
            "limit": str(self.specification),
            "acceptance_limit_c": self.acceptance_limit_c,
            "acceptance_low_c": None if lower is None else lower.corrected_c,
            "acceptance_high_c": None if upper is None else upper.corrected_c,
            "guard_band_c": self.guard_band_c,
            "probability_conforming": self.probability_conforming,
            "risk": self.risk,
            "agreed_rule": str(self.agreed),
            "rule": self.rule,
            "words": list(self.words),
            "notes": list(self.notes),
        }


def probability_of_meeting(
    limit: Limit | Specification, result_c: float, standard_c: float
) -> float:
    """Return the probability that the true value meets the limit or both limits (JCGM 106:2012).

    p = Φ((T_U - y) / u) - Φ((T_L - y) / u), an end that is open counting 1 or 0; normal about the
    result y with standard uncertainty u.
    """
    specification = _specification(limit)
    above = _below(specification.lower, result_c, standard_c) if specification.lower else 0.0
    if specification.upper is None:
        # As the tail itself, so that a small chance of failing keeps its digits.
        return 1.0 - above if above > 0.5 else _tail(specification.lower, result_c, standard_c)
    return _below(specification.upper, result_c, standard_c) - above


def _below(limit: Limit, result_c: float, standard_c: float) -> float:
    return 0.5 * math.erfc(-(limit.corrected_c - result_c) / (standard_c * math.sqrt(2)))


def _tail(limit: Limit | None, result_c: float, standard_c: float) -> float:
    if limit is None:
        return 1.0
    return 0.5 * math.erfc((limit.corrected_c - result_c) / (standard_c * math.sqrt(2)))


def _specification(limit: Limit | Specification) -> Specification:
    return limit if isinstance(limit, Specification) else specification_of([limit])


def _guard_band_c(rule: DecisionRule, spread: Spread | None, *, safety_limit: bool) -> float:
    """Return how far the limits move inwards; negative: outwards."""
    if rule.name == "simple":
        return 0.0
    if rule.name == "recipient" and safety_limit:
        raise Refused(
            "safety-limit-no-tolerance",
            "A safety limit is given no tolerance; the recipient's rule would give one.",
            where="rule",
            fix="Agree on simple or guarded acceptance for a safety limit.",
        )
    if spread is None:
        named = "Guarded acceptance" if rule.name == "guarded" else "The recipient's rule"
        raise Refused(
            "uncertainty-missing",
            f"{named} needs an uncertainty.",
            where="uncertainty",
            fix="Give the expanded uncertainty or the test method, or agree on simple acceptance.",
        )
    if rule.name == "recipient":
        return -spread.dispute_band_c
    if rule.largest_risk is not None:
        return guard_for_risk(spread.standard_c, rule.largest_risk)
    return spread.guard_band_c


def decide(
    result_c: float,
    limit: Limit | Specification,
    *,
    rule: DecisionRule | str = "simple",
    spread: Spread | None = None,
    safety_limit: bool = False,
) -> ConformityDecision:
    """Decide whether a corrected, unrounded result in °C conforms to a limit or two.

    Raises Refused for a guard band without an uncertainty and for tolerance on a safety limit;
    InputError for a result that is not finite, an unknown rule,
    and guard bands that leave nothing between two limits. Sources: JCGM 106:2012 (memory), ISO
    4259-2 and ASTM D3244 (the 0.59 R rule read in a guide that quotes ISO 4259:1992 clause 9; the
    rest memory). That a safety limit takes the result as measured: SOLAS II-2 as amended by MSC
    106 (read).
    """
    if not math.isfinite(result_c):
        raise InputError("not-finite", f"The result is {result_c}.", where="result")
    specification = _specification(limit)
    agreed = parse_rule(rule) if isinstance(rule, str) else rule
    guard_band_c = _guard_band_c(agreed, spread, safety_limit=safety_limit)
    acceptance = specification.moved(guard_band_c)
    probability = None
    if spread is not None:
        probability = probability_of_meeting(specification, result_c, spread.standard_c)
    finding = Finding(
        result_c=result_c,
        specification=specification,
        acceptance=acceptance,
        agreed=agreed,
        guard_band_c=guard_band_c,
        spread=spread,
        probability=probability,
        safety_limit=safety_limit,
    )
    return ConformityDecision(
        conforms=finding.conforms,
        result_c=result_c,
        specification=specification,
        acceptance=acceptance,
        guard_band_c=guard_band_c,
        agreed=agreed,
        probability_conforming=probability,
        rule=rule_words(finding),
        words=decision_words(finding),
        notes=notes_of(finding),
    )
