"""Which model of activity, and how wide its error: one rule, for what ships and for what is scored.

The rule takes series of published blends and gives a model for blends without water, one for
blends with it, and half of a 95 % interval for each kind of blend. With every series it gives what
ships (`model_error.csv`); with one left out, what that series is scored with.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.app.validation.published_blends import Series
from closedcup.mixtures.interval import FAMILIES

MODELS: Final = ("unifac", "dortmund")
# Argued in docs/decisions/activity-models.md; other series overturn it only where they show the
# other model nearer by more than pure flash points are known to.
ARGUED: Final = {False: "unifac", True: "dortmund"}
SEPARATED_C: Final = 1.0
# A kind of blend is judged by itself from this many series on. With fewer it gets the width of all
# series times the first factor; where none reaches, times the second (our judgement: each step
# away from the data doubles it).
ENOUGH_SERIES: Final = 3
FEW, NONE = 2.0, 4.0
# Of the mean square of few errors half a 95 % interval is Student's factor for their number less
# one; the errors of one series go together, so the series are counted and not the points.
STUDENT_95: Final = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 6: 2.45, 7: 2.36, 8: 2.31}


@dataclass(frozen=True, slots=True)
class ModelError:
    """Half of a 95 % interval of a model for one kind of blend, and what it rests on."""

    model: str
    family: str
    half_width_c: float
    note: str


def chosen_model(series: Sequence[Series], *, aqueous: bool) -> str:
    """Return the model for blends with or without water, as these series have it."""
    argued = ARGUED[aqueous]
    alike = [each for each in _trusted(series) if each.is_aqueous is aqueous]
    if not alike:
        return argued
    mean_c = {
        model: float(np.mean([np.mean(np.abs(each.errors_c(model))) for each in alike]))
        for model in MODELS
    }
    best = min(MODELS, key=lambda model: mean_c[model])
    return best if mean_c[argued] - mean_c[best] > SEPARATED_C else argued


def model_errors(series: Sequence[Series], model: str) -> tuple[ModelError, ...]:
    """Return the width of a model for every kind of blend, from these series."""
    return tuple(_model_error(_trusted(series), model, family) for family in FAMILIES)


def _trusted(series: Sequence[Series]) -> list[Series]:
    return [each for each in series if not each.doubtful]


def _model_error(series: Sequence[Series], model: str, family: str) -> ModelError:
    alike = [each for each in series if each.family == family]
    if len(alike) >= ENOUGH_SERIES:
        return ModelError(model, family, _half_width_c(alike, model), _measured(alike, model))
    wet = family not in FAMILIES[:2]
    base = [each for each in series if each.is_aqueous is wet]
    if len(base) < ENOUGH_SERIES:
        base = list(series)
    factor = FEW if alike else NONE
    reach = f"{len(alike)} series only, so twice" if alike else "no series, so four times"
    if family == "inert-rich":
        reach = "the constant flammable limit is reported to fail there, so four times"
    note = f"{reach} the width of {_measured(base, model)}"
    return ModelError(model, family, factor * _half_width_c(base, model), note)


def _half_width_c(series: Sequence[Series], model: str) -> float:
    squares = [np.mean(np.square(each.errors_c(model))) for each in series]
    return STUDENT_95[len(series) - 1] * float(np.sqrt(np.mean(squares)))


def _measured(series: Sequence[Series], model: str) -> str:
    errors = np.abs([error for each in series for error in each.errors_c(model)])
    return (
        f"{len(series)} series, {len(errors)} points: mean {errors.mean():.1f}, "
        f"largest {errors.max():.1f} °C"
    )
