"""A decision in words: the rule as it was applied, what it rests on, and what it risks."""

from dataclasses import dataclass
from typing import Final

from closedcup.conformity.rules import DecisionRule
from closedcup.conformity.specification import Specification
from closedcup.conformity.spread import REPRODUCIBILITY_TO_DEVIATION, Spread

_LEAST_WIDTH_IN_R: Final = 4.0
"""Two limits of a specification lie at least 4 R apart (terms of ISO 4259 in EU fuel law; read)."""

_SIGNS: Final = {"<": "<", "<=": "≤", ">": ">", ">=": "≥"}


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found: the result beside the limits, as written and as moved by the rule."""

    result_c: float
    specification: Specification
    acceptance: Specification
    agreed: DecisionRule
    guard_band_c: float
    spread: Spread | None
    probability: float | None
    safety_limit: bool

    @property
    def meets(self) -> bool:
        """Whether the limits are met as measured."""
        return self.specification.holds(self.result_c)

    @property
    def conforms(self) -> bool:
        """Whether it conforms by the rule agreed."""
        return self.acceptance.holds(self.result_c)


def rule_words(found: Finding) -> str:
    """Return the rule with its numbers."""
    specification, spread = found.specification, found.spread
    if found.agreed.name == "simple" or spread is None:
        return f"simple acceptance: conforms where the result is {specification}"
    ends = " and ".join(
        f"{_SIGNS[limit.operator]} {limit.corrected_c:.2f} °C" for limit in found.acceptance.limits
    )
    named = "the limits" if specification.is_two_sided else "the limit"
    band_c = abs(found.guard_band_c)
    if found.agreed.name == "recipient":
        return (
            f"recipient's rule: conforms where the result is {ends}, {named} {specification} moved "
            f"outwards by {band_c:.2f} °C ({spread.words}); beyond, failing is 95 % certain"
        )
    why = spread.words
    if found.agreed.largest_risk is not None:
        why = (
            f"largest risk {found.agreed.largest_risk * 100:g} %, standard uncertainty "
            f"{spread.standard_c:.2f} °C"
        )
    return (
        f"guarded acceptance: conforms where the result is {ends}, {named} {specification} moved "
        f"inwards by {band_c:.2f} °C ({why})"
    )


def _share(share: float) -> str:
    if share > 0.9995:
        return "more than 99.9 %"
    return "less than 0.1 %" if share < 0.0005 else f"{share * 100:.1f} %"


def decision_words(found: Finding) -> tuple[str, ...]:
    """Say what was found, how likely it is right, and who bears the risk, one sentence each."""
    as_measured = "meets" if found.meets else "does not meet"
    said = [f"As measured, {found.result_c:.2f} °C {as_measured} {found.specification}."]
    if found.meets is not found.conforms:
        said.append(
            f"All the same it {'conforms' if found.conforms else 'does not conform'} by the rule "
            f"agreed before testing ({found.agreed})."
        )
    if found.probability is None or found.spread is None:
        return (*said, "How likely this is right cannot be said: no uncertainty is known.")
    said.append(
        f"With a standard uncertainty of {found.spread.standard_c:.2f} °C, the true flash point "
        f"meets it with a probability of {_share(found.probability)}."
    )
    if found.conforms:
        said.append(
            "To accept it on this result is wrong with a probability of "
            f"{_share(1 - found.probability)} (the consumer's risk)."
        )
    else:
        said.append(
            "To reject it on this result is wrong with a probability of "
            f"{_share(found.probability)} (the producer's risk)."
        )
    if found.agreed.name == "simple":
        said.append("Simple acceptance shares the risk: at the limit itself it is 50 % either way.")
    return tuple(said)


def notes_of(found: Finding) -> tuple[str, ...]:
    """Return cautions: safety limits, guard bands, how the limits themselves were built."""
    notes = []
    if found.safety_limit:
        notes.append(
            "A safety limit is given no tolerance: the result is taken as measured, and the "
            "precision of the method excuses nothing."
        )
    if found.agreed.name == "guarded" and found.meets and not found.conforms:
        notes.append("The result meets the limit itself but lies in the guard band.")
    if found.agreed.name == "recipient" and found.conforms and not found.meets:
        notes.append(
            "The result misses the limit by less than the recipient's band: on this result alone "
            "it may not be rejected; a supplier may not rely on it either."
        )
    if found.spread is None:
        notes.append("No uncertainty is known, so no probability is given.")
    elif found.specification.is_two_sided:
        notes.extend(_narrow_limits(found.specification, found.spread))
    return tuple(notes)


def _narrow_limits(specification: Specification, spread: Spread) -> list[str]:
    """Say where two limits lie closer than 4 R; a true single limit is exempt from that rule."""
    width_c = specification.width_c or 0.0
    least_c = _LEAST_WIDTH_IN_R * REPRODUCIBILITY_TO_DEVIATION * spread.standard_c
    if width_c >= least_c:
        return []
    apart = (
        f"The two limits lie {width_c:g} °C apart, less than 4 R = {least_c:.1f} °C (ISO 4259): a "
        "single result can hardly tell inside from outside. A true single limit, such as a least "
        "flash point, is exempt from this rule of building limits."
    )
    return [apart]
