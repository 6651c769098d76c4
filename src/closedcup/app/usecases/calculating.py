"""Answers that need no records: correction, set point, precision, methods, classes, conformity.

Each takes what was typed, already parsed, and returns the object that `--json` and the web API
print.
"""

from typing import Any, cast, get_args

from closedcup.app.usecases.citing import in_words
from closedcup.classification import Evidence, classify
from closedcup.conformity import (
    DecisionRule,
    Spread,
    decide,
    spread_from_reproducibility,
    spread_from_uncertainty,
)
from closedcup.errors import InputError, Refused
from closedcup.methods import (
    PROCEDURES,
    Method,
    Statement,
    cautions_of,
    correct,
    method,
    methods,
    numbers_of,
    precision_at,
    repeat_rule,
    set_point,
)
from closedcup.metrology import agree
from closedcup.quantities import (
    Limit,
    Pressure,
    Temperature,
    TemperatureDifference,
    decimal_text,
    parse_difference,
)

Answer = dict[str, Any]

# The clauses of a method in the order in which they are met at the bench.
_STEPS = (
    "scope", "specimen", "start", "loading", "dwell", "ramp", "interval", "once", "coarse", "fine",
    "half", "confirmation", "reversal", "first", "burning", "flash", "repeats", "masking",
)  # fmt: skip

_UNNAMED_METHOD_STEP_C = 0.5
"""Rounding where no method is named: the finest step to which these methods report."""


def corrected(
    observed: Temperature,
    pressure: Pressure,
    *,
    method_id: str | None = None,
    probe_correction: TemperatureDifference | None = None,
    step: TemperatureDifference | None = None,
    limit: Limit | None = None,
) -> Answer:
    """Correct a cup reading to 101.3 kPa and round it once as the method says."""
    rounding_c = _UNNAMED_METHOD_STEP_C if step is None else step.c
    sources: list[dict[str, str]] = []
    if method_id is not None:
        chosen = method(method_id)
        rounding_c = chosen.rounding_step_c(rounding_c)
    reading = correct(
        observed.c,
        pressure_kpa=pressure.kpa,
        rounding_step_c=rounding_c,
        probe_correction_c=None if probe_correction is None else probe_correction.c,
        limit=limit,
    )
    sources += in_words(reading.sources())
    return {
        "observed_cup_c": reading.observed_cup_c,
        "pressure_kpa": pressure.kpa,
        "probe_correction_c": reading.probe_correction_c,
        "correction_c": reading.correction_c,
        "corrected_c": reading.corrected_c,
        "rounding_step_c": reading.rounding_step_c,
        "reported_c": reading.reported_c,
        "reported_text": f"{reading.reported_text} °C",
        "method": method_id,
        "warnings": list(reading.warnings),
        "steps": [f"{step.what}: {step.value_c:.3f} °C" for step in reading.steps],
        "sources": sources,
    }


def limit_set_point(
    limit: Limit,
    pressure: Pressure,
    *,
    method_id: str | None = None,
    probe_correction: TemperatureDifference | None = None,
) -> Answer:
    """Say where to set the cup so that flash or no flash answers a limit."""
    point = set_point(
        limit,
        pressure_kpa=pressure.kpa,
        probe_correction_c=None if probe_correction is None else probe_correction.c,
    )
    warnings = list(point.warnings)
    if method_id is not None:
        warnings += _scope_warnings(method(method_id), point.tested_corrected_c)
    return {
        "limit": str(limit),
        "tested_corrected_c": point.tested_corrected_c,
        "cup_set_point_c": point.cup_c,
        "cup_settable_c": point.cup_settable_c,
        "pressure_kpa": pressure.kpa,
        "method": method_id,
        "why": point.why,
        "warnings": warnings,
        "steps": list(point.steps),
    }


def method_precision(
    method_id: str,
    *,
    product: str | None = None,
    at: Temperature | None = None,
    results: tuple[Temperature, ...] = (),
    between_laboratories: bool = False,
) -> Answer:
    """Return r and R of a method, and whether given results agree within them."""
    chosen = method(method_id)
    if at is None and not results:
        raise InputError(
            "temperature-missing",
            "Precision depends on the temperature.",
            where="precision",
            fix="Give --at “61 degC”, or the results to compare with --result.",
        )
    values_c = [result.c for result in results]
    at_c = at.c if at is not None else sum(values_c) / len(values_c)
    found = precision_at(chosen, at_c, product)
    answer: Answer = {
        "method": chosen.id,
        "product": found.product,
        "at_corrected_c": found.at_corrected_c,
        "repeatability_c": found.repeatability_c,
        "reproducibility_c": found.reproducibility_c,
        "note": found.rule.note,
        "confirmed": chosen.confirmed,
        "sources": in_words(found.sources()),
    }
    if values_c:
        compared = agree(
            values_c,
            repeatability_c=found.repeatability_c,
            reproducibility_c=found.reproducibility_c,
            between_laboratories=between_laboratories,
        )
        answer |= {
            "mean_c": compared.mean_c,
            "difference_c": compared.difference_c,
            "limit_c": compared.limit_c,
            "agree": compared.agree,
            "rule": compared.rule,
        }
    return answer


def method_summary(chosen: Method) -> Answer:
    """Return one line about a method for the list."""
    return {
        "id": chosen.id,
        "name": chosen.name,
        "kind": chosen.kind,
        "test": chosen.test,
        "is_equilibrium": chosen.is_equilibrium,
        "low_c": chosen.low_c,
        "high_c": chosen.high_c,
        "specimen_ml": [rule.volume.value for rule in chosen.specimens],
        "guided": chosen.guided,
        "confirmed": chosen.confirmed,
    }


def all_methods() -> list[Answer]:
    """Return the methods that the program knows."""
    return [{**method_summary(each), "sources": in_words(each.sources())} for each in methods()]


def one_method(method_id: str) -> Answer:
    """Explain one method: its numbers with their sources, clauses, precision and editions."""
    chosen = method(method_id)
    return {
        **method_summary(chosen),
        "designation": chosen.designation,
        "procedure": PROCEDURES.get(chosen.procedure),
        "steps": [
            {"step": step, **_said(chosen.clauses[step])}
            for step in _STEPS
            if step in chosen.clauses
        ],
        "flash_called_by": chosen.flash_called_by,
        "automatic_only": chosen.automatic_only,
        "equivalents": list(chosen.equivalents),
        "numbers": [
            {
                "name": one.name,
                "words": one.words,
                "value": one.cited.value,
                "unit": one.cited.unit,
                **_origin(one.cited),
            }
            for one in numbers_of(chosen)
        ],
        "specimens": [
            {
                "products": sorted(rule.products),
                "up_to_cup_c": None if rule.up_to_cup is None else rule.up_to_cup.value,
                "volume_ml": rule.volume.value,
                "fill": rule.fill,
                "dwell_s": None if rule.dwell is None else rule.dwell.value,
            }
            for rule in chosen.specimens
        ],
        "precision": [
            {
                "products": sorted(rule.products),
                "low_c": rule.low_c,
                "high_c": rule.high_c,
                "repeatability": rule.repeatability.formula,
                "reproducibility": None
                if rule.reproducibility is None
                else rule.reproducibility.formula,
                "note": rule.note,
            }
            for rule in chosen.precision
        ],
        "repeats": repeat_rule(chosen).words,
        "not_for": [statement.text for statement in chosen.not_for],
        "cautions": [caution.text for caution in cautions_of(chosen.procedure)],
        "report": list(chosen.report),
        "editions": [
            {"name": each.name, "changed": each.changed, "known": each.known}
            for each in chosen.editions
        ],
        "sources": in_words(chosen.sources()),
    }


def _said(statement: Statement) -> Answer:
    (entry,) = in_words([{"source": statement.source, "known": statement.known}])
    return {"text": statement.text, **entry}


def _origin(cited: Any) -> Answer:
    return {"source": cited.source, "clause": cited.clause, "known": cited.known}


def classifications(evidence: Evidence) -> list[Answer]:
    """Say what a flash point means, regime by regime."""
    return [answer.as_json() for answer in classify(evidence)]


def conformity(
    limit: Limit,
    result: Temperature,
    *,
    uncertainty: TemperatureDifference | None = None,
    method_id: str | None = None,
    product: str | None = None,
    rule: str = "simple",
) -> Answer:
    """Say whether a result meets a limit under the rule that was agreed."""
    spread = None
    if uncertainty is not None:
        spread = spread_from_uncertainty(uncertainty.c)
    elif method_id is not None:
        spread = _spread_of(method(method_id), result.c, product)
    return dict(
        decide(result.c, limit, rule=_decision_rule(rule), spread=spread).as_json(),
    )


def _spread_of(chosen: Method, corrected_c: float, product: str | None) -> Spread | None:
    """Return the spread of a single result by the method's R; None where it states none.

    Simple acceptance does without; a guarded decision is then refused by `decide`.
    """
    try:
        stated_c = precision_at(chosen, corrected_c, product).reproducibility_c
    except Refused:
        return None
    return None if stated_c is None else spread_from_reproducibility(stated_c)


def _decision_rule(text: str) -> DecisionRule:
    for rule in get_args(DecisionRule):
        if rule == text:
            return cast("DecisionRule", rule)
    raise InputError(
        "decision-rule-unknown",
        f"“{text}” is not a decision rule.",
        where="rule",
        fix=f"Agree one of: {', '.join(get_args(DecisionRule))}.",
    )


def _scope_warnings(chosen: Method, corrected_c: float) -> list[str]:
    low, high = chosen.low_c, chosen.high_c
    outside = (low is not None and corrected_c < low) or (high is not None and corrected_c > high)
    if not outside:
        return []
    where = f"{decimal_text(corrected_c, 0.1)} °C is outside the scope of {chosen.designation}"
    return [f"{where} ({low:g} to {high:g} °C)."]


def typed_correction(text: str | None) -> TemperatureDifference | None:
    """Read a probe correction as typed; None stays “none on record”."""
    return None if text is None else parse_difference(text, where="probe correction")
