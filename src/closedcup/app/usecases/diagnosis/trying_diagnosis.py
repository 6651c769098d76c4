"""Try the diagnosis on simulated histories with a known cause: the confusion matrix."""

from collections import Counter
from typing import Any, Final

import numpy as np

from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.methods import Method, correction_c, precision_at
from closedcup.metrology.diagnosis import PARTS, Diagnosis, ReferenceHistory, diagnose_all
from closedcup.metrology.simulated_histories import (
    CLEAN,
    FAULTS,
    Laboratory,
    SimulatedHistory,
    simulate_history,
)

Answer = dict[str, Any]

EFFECTS_IN_R: Final = (1.0, 2.0)
RESULTS: Final = 30
_USUAL_METHOD: Final = "d93-a"
# Three reference materials over a method's range, as far as closed-cup laboratories keep them.
_LEVELS: Final = (0.05, 0.45, 1.0)
_HIGHEST_C: Final = 110.0
_RATE_C_PER_MIN: Final = 5.5  # where a method names none; only shares of it matter


def tried(
    find: MethodLookup, *, method_id: str | None = None, histories: int = 500, seed: int = 1
) -> Answer:
    """Return how often each cause is named for each that was simulated.

    histories: of each cause and size of effect, 30 results each, rounded to 0.5 °C.
    """
    method = find(method_id or _USUAL_METHOD)
    laboratory = laboratory_of(method)
    return {
        "method": method.id,
        "reference_c": list(laboratory.reference_c),
        "repeatability_c": [laboratory.repeatability_c(one) for one in laboratory.reference_c],
        "rounding_c": laboratory.rounding_c,
        "histories": histories,
        "results": RESULTS,
        "seed": seed,
        "clean": _row(laboratory, CLEAN, 0.0, histories, seed),
        "effects": [
            {
                "effect_in_r": effect,
                "rows": [_row(laboratory, fault, effect, histories, seed) for fault in FAULTS[1:]],
            }
            for effect in EFFECTS_IN_R
        ],
    }


def laboratory_of(method: Method) -> Laboratory:
    """Return a laboratory with three reference materials where the method states precision."""
    stated = [rule for rule in method.precision if method.default_product in rule.products]
    low = min(0.0 if rule.low_c is None else rule.low_c for rule in stated)
    high = min(
        _HIGHEST_C, max(_HIGHEST_C if rule.high_c is None else rule.high_c for rule in stated)
    )
    first, second, third = (round(low + share * (high - low)) for share in _LEVELS)
    return Laboratory(
        (first, second, third), lambda at_c: precision_at(method, at_c).repeatability_c
    )


def _row(laboratory: Laboratory, fault: str, effect: float, histories: int, seed: int) -> Answer:
    generator = np.random.default_rng([seed, FAULTS.index(fault), round(10 * effect)])
    found = diagnose_all(
        [
            on_record(simulate_history(laboratory, fault, effect, generator, results=RESULTS))
            for _ in range(histories)
        ]
    )
    return {
        "simulated": fault,
        "named_first": dict(Counter(_first(one) for one in found).most_common()),
        "right": float(np.mean([_is_right(one, fault) for one in found])),
        "right_first": float(np.mean([_first(one) == fault for one in found])),
        "named_two": float(np.mean([len(one.named) == 2 for one in found])),
    }


def _first(found: Diagnosis) -> str:
    return found.named[0] if found.found else CLEAN


def _is_right(found: Diagnosis, fault: str) -> bool:
    return not found.found if fault == CLEAN else fault in found.named


def on_record(simulated: SimulatedHistory) -> ReferenceHistory:
    """Return what a laboratory has on record of a simulated history."""
    return ReferenceHistory(
        difference_c=simulated.result_c - simulated.reference_c,
        repeatability_c=simulated.repeatability_c,
        resolution_c=simulated.rounding_c,
        temperature_c=simulated.reference_c,
        pressure_correction_c=correction_c(simulated.pressure_kpa),
        rate_c_per_min=simulated.rate_c_per_min,
        days_since_calibration=simulated.days_since_calibration,
        first_of_day=simulated.first_of_day,
        parts={part: getattr(simulated, part) for part in PARTS},
    )
