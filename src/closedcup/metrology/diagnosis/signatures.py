"""What each cause does to a history of differences: a column of numbers per cause.

A column says by which share of its largest effect a cause moves each result. It follows from what
was on record for that result and from the correction's formula, never from a table of signs.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from closedcup.metrology.diagnosis.history import PARTS, Floats, ReferenceHistory

OFFSET: Final = "constant offset"
TEMPERATURE: Final = "grows with temperature"
NOT_CORRECTED: Final = "pressure not corrected"
CORRECTED_TWICE: Final = "pressure corrected twice"
RATE: Final = "follows heating rate"
CHANGE_OF: Final = {part: f"change of {part}" for part in PARTS}
CALIBRATION: Final = "drift since calibration"
FIRST: Final = "first of the day"
SCATTER: Final = "scatter without bias"
CAUSES: Final = (
    OFFSET,
    TEMPERATURE,
    NOT_CORRECTED,
    CORRECTED_TWICE,
    RATE,
    *CHANGE_OF.values(),
    CALIBRATION,
    FIRST,
    SCATTER,
)

# A pressure error has its size from the formula; a tenth of it is left for the barometer and for
# the correction's own slope (our choice).
_FORMULA_SHARE: Final = 0.1
# A correction that nowhere exceeds a quarter of r leaves nothing to see (our choice).
_LEAST_PRESSURE_SHARE: Final = 0.25
# Before the data are seen an effect is about one and a half repeatabilities or less (our choice:
# smaller ones are harmless, much larger ones need no statistics).
_USUAL_EFFECT_IN_R: Final = 1.5
_NOT_ON_RECORD: Final = "not on record"


@dataclass(frozen=True, slots=True)
class Signature:
    """A column whose largest size is 1, and what its coefficient (in °C) is expected to be.

    `at` names the lid, person or lot whose results are off, "" for other causes.
    """

    cause: str
    column: Floats
    expected_c: float
    expected_deviation_c: float
    at: str = ""


def signatures(history: ReferenceHistory) -> tuple[tuple[Signature, ...], dict[str, str]]:
    """Return the columns that a history allows, and why each other cause cannot be examined.

    Several columns of one cause (three operators have three) share its chance. Scatter has no
    column.
    """
    usual_c = _USUAL_EFFECT_IN_R * history.mean_repeatability_c
    found = [Signature(OFFSET, np.ones(history.difference_c.size), 0.0, usual_c)]
    missing: dict[str, str] = {}
    for cause, values in _gradual(history).items():
        if values is None:
            missing[cause] = _NOT_ON_RECORD
        elif not values.any():
            missing[cause] = _WITHOUT_CONTRAST[cause]
        else:
            found.append(Signature(cause, values / np.abs(values).max(), 0.0, usual_c))
    found += _pressure(history, missing)
    found += [step for part in PARTS for step in _steps(history, part, usual_c, missing)]
    return tuple(found), missing


_WITHOUT_CONTRAST: Final = {
    TEMPERATURE: "all reference values are the same: growth cannot be told from an offset",
    RATE: "the heating rate never differed",
    CALIBRATION: "all results were made equally long after a calibration",
    FIRST: "none of the results was the first of a day, or all were",
}


def _gradual(history: ReferenceHistory) -> dict[str, Floats | None]:
    """Return the effect of each gradual cause up to a factor; zeros where it shows no contrast.

    An error of the probe's scale vanishes at the ice point, where a probe is set. A lag of so many
    minutes shifts a result by that times the rate; the usual rate's share of it is in the reference
    value already, so what counts is the departure from the usual rate.
    """
    rate, first = history.rate_c_per_min, history.first_of_day
    return {
        TEMPERATURE: _if_it_varies(history.temperature_c),
        RATE: None if rate is None else rate - np.median(rate),
        CALIBRATION: _if_it_varies(history.days_since_calibration),
        FIRST: None if first is None else _if_it_varies(first.astype(np.float64)),
    }


def _if_it_varies(values: Floats | None) -> Floats | None:
    return values if values is None or np.ptp(values) > 0 else np.zeros_like(values)


def _pressure(history: ReferenceHistory, missing: dict[str, str]) -> list[Signature]:
    """Return both pressure errors; each has the size and the sign of the method's formula.

    A result is reading + correction. Without it, it is off by minus the correction; with it
    twice, by plus the correction.
    """
    correction = history.pressure_correction_c
    if correction is None:
        missing[NOT_CORRECTED] = missing[CORRECTED_TWICE] = _NOT_ON_RECORD
        return []
    largest_c = float(np.abs(correction).max())
    if largest_c < _LEAST_PRESSURE_SHARE * history.mean_repeatability_c:
        missing[NOT_CORRECTED] = missing[CORRECTED_TWICE] = (
            f"the correction was never more than {largest_c:.2f} °C: an error in it cannot be seen"
        )
        return []
    column, deviation_c = correction / largest_c, _FORMULA_SHARE * largest_c
    return [
        Signature(NOT_CORRECTED, column, -largest_c, deviation_c),
        Signature(CORRECTED_TWICE, column, largest_c, deviation_c),
    ]


def _steps(
    history: ReferenceHistory, part: str, usual_c: float, missing: dict[str, str]
) -> list[Signature]:
    """Return the steps that a change can make: with one in use, or from one on."""
    cause, used = CHANGE_OF[part], history.parts.get(part)
    if used is None:
        missing[cause] = _NOT_ON_RECORD
        return []
    names = tuple(dict.fromkeys(used))
    if len(names) == 1:
        missing[cause] = f"there was no change of {part}"
        return []
    columns = {f"with {name}": np.array([one == name for one in used], float) for name in names}
    changes = sum(before != after for before, after in pairwise(used))
    if changes == len(names) - 1:  # one after the other, none came back
        for place, name in enumerate(names[1:-1], start=1):
            later = [columns[f"with {one}"] for one in names[place:]]
            columns[f"from {name} on"] = np.sum(later, axis=0)
    return [Signature(cause, column, 0.0, usual_c, at) for at, column in columns.items()]
