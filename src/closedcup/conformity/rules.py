"""The decision rules that may be agreed before a test, and the guard band that each one sets."""

import re
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final, Literal

from closedcup.errors import InputError

RuleName = Literal["simple", "guarded", "recipient"]
_MEANINGS: Final = {
    "simple": "as measured",
    "guarded": "limits moved inwards by a guard band; “guarded 5 %” sets the largest risk",
    "recipient": "rejected only where failing is 95 % certain",
}


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """A rule; `largest_risk` (0 to 0.5) is the largest chance of a wrong acceptance of one result.

    None leaves the guard band to the uncertainty: U, or 0.59 R.
    """

    name: RuleName
    largest_risk: float | None = None

    def __str__(self) -> str:
        if self.largest_risk is None:
            return self.name
        return f"{self.name} {self.largest_risk * 100:g} %"


def parse_rule(text: str, *, where: str = "rule") -> DecisionRule:
    """Read "simple", "guarded", "guarded 5 %" or "recipient"; InputError for anything else."""
    match = re.fullmatch(r"(?P<name>[a-z]+)(\s+(?P<percent>\d+(\.\d+)?)\s*%)?", text.strip())
    name = match["name"] if match else ""
    percent = float(match["percent"]) if match and match["percent"] else None
    if name not in _MEANINGS or (percent is not None and name != "guarded"):
        raise InputError(
            "decision-rule-unknown",
            f"“{text}” is not a decision rule.",
            where=where,
            fix="Agree one of: "
            + "; ".join(f"{key} ({meaning})" for key, meaning in _MEANINGS.items())
            + ".",
        )
    if percent is not None and not 0 < percent < 50:
        raise InputError(
            "risk-impossible",
            f"A largest risk of {percent:g} % is not possible with a guard band.",
            where=where,
            fix="Agree between 0 and 50 %, such as “guarded 5 %”; 50 % is simple acceptance.",
        )
    rule_name: RuleName = name  # type: ignore[assignment]
    return DecisionRule(rule_name, None if percent is None else percent / 100)


def guard_for_risk(standard_c: float, largest_risk: float) -> float:
    """Return the guard band w = z u at which a result is wrongly accepted with a given chance.

    Normal distribution, one limit (JCGM 106:2012, 8.3.3; memory): 1.645 u gives 5 %.
    """
    return NormalDist().inv_cdf(1 - largest_risk) * standard_c
