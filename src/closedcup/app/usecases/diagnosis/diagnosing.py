"""Say why the results on reference materials are off, as far as their history can tell."""

from dataclasses import asdict
from typing import Any

import numpy as np

from closedcup.app.usecases.diagnosis.diagnosis_warnings import diagnosis_warnings
from closedcup.app.usecases.diagnosis.diagnosis_words import conclusion, evidence, quantity_of
from closedcup.app.usecases.diagnosis.reference_history import Gathered
from closedcup.methods import correction_c
from closedcup.methods.barometer import barometer_numbers
from closedcup.metrology.diagnosis import (
    RankedCause,
    cheapest_test,
    diagnose,
    symptoms,
)

Answer = dict[str, Any]


def diagnosed(gathered: Gathered) -> Answer:
    """Return the object that `closedcup diagnose` prints.

    Raises Refused for fewer than 8 results.
    """
    found = diagnose(gathered.history)
    first = found.causes[0]
    confirm = cheapest_test(found.named or (first.cause,))
    return {
        "apparatus": gathered.apparatus or None,
        "method": gathered.method or None,
        "results": len(gathered.made),
        "found": found.found,
        "named": list(found.named),
        "conclusion": conclusion(found, gathered),
        "clean_probability": found.clean_probability,
        "mean_difference_c": float(gathered.history.difference_c.mean()),
        "repeatability_c": gathered.history.mean_repeatability_c,
        "causes": [_cause(one, gathered) for one in found.causes],
        "not_examined": found.not_examined | gathered.incomplete(),
        "confirm_first": asdict(confirm) if found.found else None,
        "pressure_signs": pressure_signs(gathered),
        "points": _points(gathered, first),
        "quantity": quantity_of(first.cause, gathered)[1],
        "symptoms": [asdict(one) for one in symptoms()],
        "warnings": [*diagnosis_warnings(gathered, found), *gathered.warnings],
        "sources": [
            {"value_of": "confirming tests", "source": confirm.source, "known": confirm.known},
            barometer_numbers().correction_per_kpa.as_json("pressure correction per kPa"),
        ],
    }


def _cause(one: RankedCause, gathered: Gathered) -> Answer:
    test = cheapest_test((one.cause,))
    return {
        "cause": one.cause,
        "at": one.at or None,
        "probability": one.probability,
        "log10_odds": one.log10_odds,
        "effect_c": one.effect_c,
        "low_c": one.low_c,
        "high_c": one.high_c,
        "effect_in_r": one.effect_c / gathered.history.mean_repeatability_c,
        "evidence": evidence(one, gathered),
        "confirming_test": test.test,
        "confirming_minutes": test.minutes,
        "caution": test.caution,
    }


def _points(gathered: Gathered, first: RankedCause) -> list[Answer]:
    quantity, _ = quantity_of(first.cause, gathered)
    return [
        {
            "number": number,
            "label": made.label,
            "difference_c": float(difference),
            "fitted_c": float(fitted),
            "residual_c": float(difference - fitted),
            "quantity": float(value),
        }
        for number, (made, difference, fitted, value) in enumerate(
            zip(
                gathered.made,
                gathered.history.difference_c,
                first.fitted_c,
                quantity,
                strict=True,
            ),
            start=1,
        )
    ]


def pressure_signs(gathered: Gathered) -> str | None:
    """Say what a pressure error does to a result here: computed from the formula."""
    pressures = [each.pressure_kpa for each in gathered.made if each.pressure_kpa is not None]
    if not pressures:
        return None
    pressure_kpa = float(np.mean(pressures))
    missing_c = correction_c(pressure_kpa)
    numbers = barometer_numbers()
    low, high = ("low", "high") if missing_c > 0 else ("high", "low")
    return (
        f"At {pressure_kpa:.1f} kPa a result that is not corrected is {abs(missing_c):.1f} °C too "
        f"{low}, one that is corrected twice {abs(missing_c):.1f} °C too {high}: from "
        f"{numbers.correction_per_kpa.value:g} °C/kPa × ({numbers.standard_pressure.value:g} kPa "
        "less the pressure)."
    )
