"""Whether a result meets a limit: the limit with its operator, the decision rule, the risk.

specification: one limit or two; rules: what may be agreed; spread: how far a result may lie from
the truth; decision: whether it conforms; process: risks over many batches; laboratories: a value
assigned by several. Never here: the precision of a method or an uncertainty budget (they come in
as numbers), what a class of a regulation is (that is `classification`).
"""

from closedcup.conformity.decision import ConformityDecision, decide, probability_of_meeting
from closedcup.conformity.laboratories import (
    AssignedValue,
    LaboratoryResults,
    acceptance_for_probability,
    assigned_value,
    mean_reproducibility_c,
)
from closedcup.conformity.process import (
    GlobalRisks,
    Process,
    global_risks,
    probability_with_process,
    process_from_results,
)
from closedcup.conformity.rules import DecisionRule, guard_for_risk, parse_rule
from closedcup.conformity.specification import (
    Specification,
    parse_specification,
    specification_of,
)
from closedcup.conformity.spread import (
    GUARD_BAND_FACTOR,
    REPRODUCIBILITY_TO_DEVIATION,
    Spread,
    spread_from_reproducibility,
    spread_from_uncertainty,
)

__all__ = [
    "GUARD_BAND_FACTOR",
    "REPRODUCIBILITY_TO_DEVIATION",
    "AssignedValue",
    "ConformityDecision",
    "DecisionRule",
    "GlobalRisks",
    "LaboratoryResults",
    "Process",
    "Specification",
    "Spread",
    "acceptance_for_probability",
    "assigned_value",
    "decide",
    "global_risks",
    "guard_for_risk",
    "mean_reproducibility_c",
    "parse_rule",
    "parse_specification",
    "probability_of_meeting",
    "probability_with_process",
    "process_from_results",
    "specification_of",
    "spread_from_reproducibility",
    "spread_from_uncertainty",
]
