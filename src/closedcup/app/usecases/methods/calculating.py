"""Answers that need no records: correction, set point, precision.

Each takes what was typed, already parsed, and returns the object that `--json` and the web API
print. `lookup` finds a method by its identifier: as published, or as a laboratory has confirmed it.
"""

from typing import Any

from closedcup.app.usecases.methods.citing import in_words
from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.errors import InputError
from closedcup.methods import (
    Method,
    correct,
    method,
    precision_at,
    refuse_open_cup,
    set_point,
)
from closedcup.metrology import agree, agree_means
from closedcup.quantities import (
    Limit,
    Pressure,
    Temperature,
    TemperatureDifference,
    decimal_text,
    parse_difference,
)

Answer = dict[str, Any]

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
    lookup: MethodLookup = method,
) -> Answer:
    """Correct a cup reading to 101.3 kPa and round it once as the method says."""
    rounding_c = _UNNAMED_METHOD_STEP_C if step is None else step.c
    sources: list[dict[str, str]] = []
    if method_id is not None:
        chosen = lookup(method_id)
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
    lookup: MethodLookup = method,
) -> Answer:
    """Say where to set the cup so that flash or no flash answers a limit.

    Refused for an open cup.
    """
    chosen = None if method_id is None else lookup(method_id)
    if chosen is not None:
        refuse_open_cup(chosen)
    point = set_point(
        limit,
        pressure_kpa=pressure.kpa,
        probe_correction_c=None if probe_correction is None else probe_correction.c,
    )
    warnings = list(point.warnings)
    if chosen is not None:
        warnings += _scope_warnings(chosen, point.tested_corrected_c)
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
    theirs: tuple[Temperature, ...] = (),
    between_laboratories: bool = False,
    lookup: MethodLookup = method,
) -> Answer:
    """Return r and R of a method, and whether given results agree within them.

    `theirs` are another laboratory's results: then the means of both are compared by R.
    """
    chosen = lookup(method_id)
    if at is None and not (results or theirs):
        raise InputError(
            "temperature-missing",
            "Precision depends on the temperature.",
            where="precision",
            fix="Give --at “61 degC”, or the results to compare with --result.",
        )
    values_c = [result.c for result in results]
    theirs_c = [result.c for result in theirs]
    both_c = values_c + theirs_c
    at_c = at.c if at is not None else sum(both_c) / len(both_c)
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
    if both_c:
        compared = (
            agree_means(
                values_c,
                theirs_c,
                repeatability_c=found.repeatability_c,
                reproducibility_c=found.reproducibility_c,
            )
            if theirs_c
            else agree(
                values_c,
                repeatability_c=found.repeatability_c,
                reproducibility_c=found.reproducibility_c,
                between_laboratories=between_laboratories,
            )
        )
        answer |= {
            "mean_c": compared.mean_c,
            "difference_c": compared.difference_c,
            "limit_c": compared.limit_c,
            "agree": compared.agree,
            "rule": compared.rule,
        }
    return answer


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
