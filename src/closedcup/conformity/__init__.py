"""Whether a result meets a limit: the limit with its operator, the decision rule, the risk.

Never here: the precision of a method or an uncertainty budget (they come in as numbers), what a
class of a regulation is (that is `classification`).
"""

from closedcup.conformity.decision import (
    GUARD_BAND_FACTOR,
    REPRODUCIBILITY_TO_DEVIATION,
    ConformityDecision,
    DecisionRule,
    Spread,
    decide,
    spread_from_reproducibility,
    spread_from_uncertainty,
)

__all__ = [
    "GUARD_BAND_FACTOR",
    "REPRODUCIBILITY_TO_DEVIATION",
    "ConformityDecision",
    "DecisionRule",
    "Spread",
    "decide",
    "spread_from_reproducibility",
    "spread_from_uncertainty",
]
