"""The interval of an estimate by drawing: all that is uncertain at once, through the sum itself.

Drawn are the pure flash points (each by the spread of its sources, and together for the family of
cups), the declared amounts, and the errors that add to the result (model, extrapolation). A linear
sum of squares is right where the sum is straight; near the dilute ends it is not, and the interval
is then longer on one side.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.flash_point import FlashSum, roots_k
from closedcup.mixtures.pure_values import PureFlash
from closedcup.mixtures.vapour_pressure import ln_vapour_pressure

Array = NDArray[np.float64]

# Pairs of opposite draws; the ends of the interval are then good to about a tenth of a degree.
PAIRS: Final = 2000
SEED: Final = 20
# Half of a 95 % interval of a normal distribution in standard deviations.
TO_95: Final = 1.96


def drawn_flash_c(  # noqa: PLR0913 - each is one thing that is uncertain
    flash_sum: FlashSum,
    pures: Sequence[PureFlash],
    composition: Array,
    flash_c: float,
    *,
    amount_uncertainty: float = 0.0,
    added_half_width_c: float = 0.0,
) -> Array:
    """Return drawn flash points of one blend, shape (draws,), the same for the same blend.

    `composition` has the shape (liquids,); `flash_c` is its root. `amount_uncertainty` is the
    relative standard uncertainty of each amount, `added_half_width_c` half of the 95 % interval
    of what adds to the result. Draws that find no root are left out.
    """
    draws = _draws(len(pures) + len(composition) + 2)
    # Which family of cups will be used is not known: half the draws take the handbook's, half the
    # furthest family's, for all liquids at once.
    cups = draws[-1] > 0
    flammable = np.flatnonzero(flash_sum.flammable).tolist()
    flash_k = np.array([
        flash_sum.flash_k[i]
        + pures[i].half_width_c * draws[i] / TO_95
        + pures[i].to_other_cups_c * cups
        for i in flammable
    ])  # fmt: skip
    amounts = composition[:, None] * np.exp(amount_uncertainty * draws[len(pures) : -2])
    x = np.ascontiguousarray((amounts / amounts.sum(axis=0)).T)
    chosen = [flash_sum.correlations[i] for i in flammable]
    at_flash = np.stack(
        [ln_vapour_pressure(each, at) for each, at in zip(chosen, flash_k, strict=True)]
    )

    def log_parts(rows: NDArray[np.intp], temperature_k: Array) -> Array:
        ln_gamma = flash_sum.model.ln_gamma(x[rows], temperature_k).T[flammable]
        pressure = np.stack([ln_vapour_pressure(each, temperature_k) for each in chosen])
        result: Array = ln_gamma + pressure - at_flash[:, rows]
        return result

    root_k = flash_c + 273.15
    start = np.full(x.shape[0], 1 / root_k)
    ends = np.array([root_k - 1, root_k + 1])
    slopes = np.stack([np.diff(ln_vapour_pressure(each, ends)) for each in chosen]) / (
        1 / ends[1] - 1 / ends[0]
    )
    found, _ = roots_k(log_parts, np.ascontiguousarray(x.T[flammable]), start, slopes, 0.0)
    drawn = found - 273.15 + added_half_width_c * draws[-2] / TO_95
    result: Array = drawn[~np.isnan(drawn)]
    return result


def interval_c(drawn: Array, coverage: float) -> tuple[float, float]:
    """Return the middle share of the draws."""
    # Straight between the draws, as np.quantile has it; that loads masked arrays when first called.
    places = np.array([(1 - coverage) / 2, (1 + coverage) / 2]) * (len(drawn) - 1)
    low, high = np.interp(places, np.arange(len(drawn)), np.sort(drawn))
    return float(low), float(high)


def _draws(count: int) -> Array:
    half = np.random.default_rng(SEED).standard_normal((count, PAIRS))
    return np.concatenate([half, -half], axis=1)
