"""What a specimen at a temperature says of the flash point, and how far it can mislead.

A specimen flashes when the cup stands at or above its own threshold, which scatters from specimen
to specimen around the sample's flash point; now and then an observation is simply wrong.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from closedcup.errors import InputError

Floats = npt.NDArray[np.float64]

# The 95 % difference of two results: r = 1.96 √2 standard deviations (ISO 4259, memory).
_R_OVER_SD: Final = 1.959964 * 2**0.5

_PHASES: Final = 48  # places of the flash point within a step over which the scatter is averaged
_HALVINGS: Final = 40  # of the bracket of the scatter: 1e-12 of its width


@dataclass(frozen=True, slots=True)
class Observing:
    """The observation model: P(flash at T) = lapse + (1 - 2 lapse) Φ((T - flash point) / scatter).

    scatter_c: standard deviation of the specimens' thresholds, 0 for none. lapse: the chance that
    an observation is wrong whatever the temperature (a draught, a halo called a flash); 1 in 200
    is a judgement of the program, no source.
    """

    scatter_c: float
    lapse: float = 0.005

    def __post_init__(self) -> None:
        if not (np.isfinite(self.scatter_c) and self.scatter_c >= 0):
            raise InputError(
                "scatter-impossible",
                f"A scatter of {self.scatter_c:g} °C is not possible.",
                where="scatter",
                fix="Give a standard deviation of 0 °C or more.",
            )
        if not 0 <= self.lapse < 0.5:
            raise InputError(
                "lapse-impossible",
                f"A lapse of {self.lapse:g} is not possible.",
                where="lapse",
                fix="Give the share of wrong observations, from 0 to below 0.5.",
            )

    def flash_probability(self, cup_c: npt.ArrayLike, flash_cup_c: npt.ArrayLike) -> Floats:
        """Return the chance of a flash at a cup temperature for a flash point (broadcast)."""
        above_c = np.asarray(cup_c, dtype=float) - np.asarray(flash_cup_c, dtype=float)
        right = (
            _normal(above_c / self.scatter_c)
            if self.scatter_c > 0
            else np.asarray(above_c >= 0, dtype=float)
        )
        return np.asarray(self.lapse + (1 - 2 * self.lapse) * right, dtype=float)


def scatter_from_repeatability(repeatability_c: float, step_c: float) -> float:
    """Return the threshold scatter (standard deviation, °C) behind a repeatability r.

    r was measured on results that are steps: part of their spread is the grid's. The standard
    deviation of results, r / 2.77, is met by `spread_of_stepped_results`, which is solved for the
    scatter. step_c: the last step of the results, 1 or 0.5 °C. Raises InputError for r ≤ 0.
    """
    if not (np.isfinite(repeatability_c) and repeatability_c > 0):
        raise InputError(
            "repeatability-impossible",
            f"A repeatability of {repeatability_c:g} °C is not possible.",
            where="repeatability",
            fix="Give the method's r at the temperature.",
        )
    wanted_c = repeatability_c / _R_OVER_SD
    low_c, high_c = 0.0, 4 * wanted_c + step_c
    for _ in range(_HALVINGS):
        middle_c = (low_c + high_c) / 2
        if spread_of_stepped_results(middle_c, step_c) < wanted_c:
            low_c = middle_c
        else:
            high_c = middle_c
    return (low_c + high_c) / 2


def spread_of_stepped_results(scatter_c: float, step_c: float) -> float:
    """Return the standard deviation of repeated results found by steps, over all places of a step.

    The search climbs by 1 °C to the first flash and, for a last step of 0.5 °C, tests once half
    a degree below it; each specimen has a threshold of its own. Exact sums over the outcomes, mean
    over flash points spread evenly within 1 °C. Without scatter it is 0.
    """
    if scatter_c <= 0:
        return 0.0
    fine_c = 1.0  # the upward steps of the finite search (methods' fine_step)
    reach = int(np.ceil(6 * scatter_c)) + 2
    phases_c = (np.arange(_PHASES) + 0.5) / _PHASES * fine_c
    cups_c = np.arange(-reach, reach + 1) * fine_c
    model = Observing(scatter_c, lapse=0.0)
    flash = model.flash_probability(cups_c, phases_c[:, None])
    unlit = np.cumprod(1 - flash, axis=1)
    first = flash * np.hstack([np.ones((_PHASES, 1)), unlit[:, :-1]])
    if step_c < fine_c:
        lower = model.flash_probability(cups_c - step_c, phases_c[:, None])
        values_c = np.concatenate([cups_c, cups_c - step_c])
        weights = np.hstack([first * (1 - lower), first * lower])
    else:
        values_c, weights = cups_c, first
    weights = weights / weights.sum(axis=1, keepdims=True)
    mean_c = weights @ values_c
    return float(np.sqrt(np.mean(weights @ values_c**2 - mean_c**2)))


def spread_of_rounded_results(scatter_c: float, step_c: float) -> float:
    """Return the standard deviation of single readings that are rounded up to a step.

    The variance identity: s² = scatter² + step²/2 · E[f(1 - f)], f being the fractional part of
    the difference of two readings in steps; for a scatter above about half a step it is Sheppard's
    scatter² + step²/12. Exact for readings spread evenly within a step.
    """
    wide = max(8 * scatter_c * 2**0.5, step_c)
    apart_c = np.linspace(-wide, wide, 20_001)
    density = (
        np.exp(-(apart_c**2) / (4 * scatter_c**2)) if scatter_c > 0 else np.zeros_like(apart_c)
    )
    if density.sum() == 0:
        return 0.0
    fraction = np.mod(apart_c / step_c, 1.0)
    mean = float((density * fraction * (1 - fraction)).sum() / density.sum())
    return float(np.sqrt(scatter_c**2 + step_c**2 / 2 * mean))


def _normal(z: Floats) -> Floats:
    from scipy.special import ndtr  # noqa: PLC0415 - loaded when a chance is computed

    distribution: Callable[[Any], Any] = ndtr
    return np.asarray(distribution(z), dtype=float)
