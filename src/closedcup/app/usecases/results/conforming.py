"""Whether a result meets a limit: one result, several laboratories, and over many batches."""

from collections.abc import Sequence
from statistics import NormalDist
from typing import Any, Final

from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.conformity import (
    ConformityDecision,
    LaboratoryResults,
    Process,
    Specification,
    Spread,
    acceptance_for_probability,
    assigned_value,
    decide,
    global_risks,
    probability_of_meeting,
    probability_with_process,
    spread_from_reproducibility,
    spread_from_uncertainty,
)
from closedcup.errors import InputError, Refused
from closedcup.methods import Method, method, precision_at, refuse_open_cup
from closedcup.quantities import (
    Limit,
    Temperature,
    TemperatureDifference,
    parse_temperature,
    round_half_up,
)

Answer = dict[str, Any]

_NOTHING_OVER_BATCHES: Final = {
    "process": None,
    "probability_with_process": None,
    "global_consumer_risk": None,
    "global_producer_risk": None,
}


def conformity(
    limit: Limit | Specification,
    result: Temperature,
    *,
    uncertainty: TemperatureDifference | None = None,
    method_id: str | None = None,
    product: str | None = None,
    rule: str = "simple",
    safety_limit: bool = False,
    process: Process | None = None,
    lookup: MethodLookup = method,
) -> Answer:
    """Say whether a result meets a limit under the rule that was agreed.

    With a process, the risks over many batches as well; Refused where no uncertainty is known then.
    """
    spread = None
    chosen = None if method_id is None else lookup(method_id)
    if chosen is not None:
        refuse_open_cup(chosen)
    if uncertainty is not None:
        spread = spread_from_uncertainty(uncertainty.c)
    elif chosen is not None:
        spread = spread_of(chosen, result.c, product)
    decision = decide(result.c, limit, rule=rule, spread=spread, safety_limit=safety_limit)
    return {**decision.as_json(), **_over_batches(decision, spread, process)}


def _over_batches(
    decision: ConformityDecision, spread: Spread | None, process: Process | None
) -> Answer:
    if process is None:
        return dict(_NOTHING_OVER_BATCHES)
    if spread is None:
        raise Refused(
            "uncertainty-missing",
            "The risks over many batches need the uncertainty of a result.",
            where="uncertainty",
            fix="Give the expanded uncertainty or the test method.",
        )
    risks = global_risks(decision.specification, decision.acceptance, process, spread.standard_c)
    return {
        "process": {
            "mean_c": process.mean_c,
            "standard_c": process.standard_c,
            "words": process.words,
        },
        "probability_with_process": probability_with_process(
            decision.specification, decision.result_c, spread.standard_c, process
        ),
        "global_consumer_risk": risks.consumer,
        "global_producer_risk": risks.producer,
    }


def spread_of(chosen: Method, corrected_c: float, product: str | None) -> Spread | None:
    """Return the spread of a single result by the method's R; None where it states none.

    Simple acceptance does without; a guarded decision is then refused by `decide`.
    """
    try:
        stated_c = precision_at(chosen, corrected_c, product).reproducibility_c
    except Refused:
        return None
    return None if stated_c is None else spread_from_reproducibility(stated_c)


def stated_process(mean: str | None, spread: TemperatureDifference | None) -> Process | None:
    """Return the process as stated; InputError where only one of mean and deviation is given."""
    if mean is None and spread is None:
        return None
    if mean is None or spread is None or spread.c <= 0:
        raise InputError(
            "process-incomplete",
            "A process is told by its mean and its standard deviation, above zero.",
            where="process",
            fix="Give both: --process-mean “63 degC” --process-spread “1.5 degC”.",
        )
    return Process(parse_temperature(mean, where="process").c, spread.c, "as stated")


def parse_laboratories(typed: Sequence[str]) -> tuple[LaboratoryResults, ...]:
    """Read "A=61.5 degC" several times; a name that comes again adds a result to it."""
    found: dict[str, list[float]] = {}
    for text in typed:
        name, separator, value = text.partition("=")
        if not separator or not name.strip():
            raise InputError(
                "laboratory-unreadable",
                f"“{text}” names no laboratory with its result.",
                where="laboratory",
                fix="Write NAME=RESULT: “A=61.5 degC”.",
            )
        result_c = parse_temperature(value, where=f"laboratory {name.strip()}").c
        found.setdefault(name.strip(), []).append(result_c)
    return tuple(LaboratoryResults(name, tuple(values)) for name, values in found.items())


def among_laboratories(
    specification: Specification,
    laboratories: Sequence[LaboratoryResults],
    *,
    method_id: str,
    product: str | None = None,
    probability: float = 0.5,
    rounding: TemperatureDifference | None = None,
    safety_limit: bool = False,
    lookup: MethodLookup = method,
) -> Answer:
    """Say what value the laboratories assign, and whether it is accepted.

    `probability` and `rounding` are agreed before testing: the chance that a batch lying at the
    limit is accepted, and the step to which the assigned value is rounded (None: not rounded).
    Refused where a safety limit would be given tolerance (a probability above one half).
    """
    if safety_limit and probability > 0.5:
        raise Refused(
            "safety-limit-no-tolerance",
            f"An acceptance probability of {probability:g} gives tolerance to a safety limit.",
            where="probability",
            fix="Agree 0.5 or less for a safety limit.",
        )
    precision = _precision(laboratories, lookup(method_id), product)
    assigned = assigned_value(
        laboratories, repeatability_c=precision[0], reproducibility_c=precision[1]
    )
    acceptance = acceptance_for_probability(specification, assigned.standard_c, probability)
    value_c = assigned.value_c
    if rounding is not None:
        value_c = round_half_up(value_c, rounding.c)
    nearest = acceptance.nearest(value_c)
    outwards_c = NormalDist().inv_cdf(probability) * assigned.standard_c
    side = "outwards" if outwards_c >= 0 else "inwards"
    return {
        "conforms": acceptance.holds(value_c),
        "limit": str(specification),
        "acceptance_limit_c": nearest.corrected_c,
        "probability_conforming": probability_of_meeting(
            specification, assigned.value_c, assigned.standard_c
        ),
        "rule": (
            f"assigned value compared with the limit moved {side} by {abs(outwards_c):.2f} °C: "
            f"acceptance probability {probability:g} at the limit, agreed before testing"
        ),
        "assigned_c": value_c,
        "unrounded_c": assigned.value_c,
        "standard_c": assigned.standard_c,
        "low_c": assigned.value_c - assigned.half_interval_c,
        "high_c": assigned.value_c + assigned.half_interval_c,
        "laboratories": list(assigned.laboratories),
        "left_out": list(assigned.left_out),
        "difference_c": assigned.difference_c,
        "allowed_difference_c": assigned.allowed_c,
        "repeatability_c": precision[0],
        "reproducibility_c": precision[1],
        "words": [
            f"The assigned value is the {assigned.words}: {value_c:.2f} °C.",
            *(
                ["One laboratory alone speaks by its own site precision, which may replace R."]
                if len(assigned.laboratories) == 1
                else []
            ),
        ],
    }


def _precision(
    laboratories: Sequence[LaboratoryResults], chosen: Method, product: str | None
) -> tuple[float, float]:
    values_c = [value for one in laboratories for value in one.results_c]
    if not values_c:
        raise InputError("results-missing", "Each laboratory needs a result.", where="laboratory")
    found = precision_at(chosen, sum(values_c) / len(values_c), product)
    if found.reproducibility_c is None:
        raise Refused(
            "reproducibility-missing",
            f"{chosen.designation} states no reproducibility here.",
            where="method",
            fix="Laboratories are compared by R; use a method that states it.",
        )
    return found.repeatability_c, found.reproducibility_c
