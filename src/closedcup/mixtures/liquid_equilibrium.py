"""The flash point over several liquids in equilibrium: Newton's method on all unknowns at once.

Unknown are the moles of each liquid and the temperature. At the answer every component has one
activity in all liquids, and Liaw's sum, taken in the first of them, has its wanted value. Each
step solves the linearised equations of all rows together; slopes are differences over small
steps, so that any model of activity will do.
"""

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.flash_point import HIGHEST_K, LOWEST_K, FlashSum
from closedcup.mixtures.phase_split import SAME_PHASE

Array = NDArray[np.float64]

MAXIMUM_STEPS: Final = 25
# Small steps for slopes: in moles of one mole of liquid, and in kelvin.
STEP_MOLES: Final = 1e-6
STEP_K: Final = 1e-3
# Log activities, and the log of the sum, that were this near before a step are exact after it:
# what a step leaves is of the order of the square.
NEAR: Final = 1e-5
# No amount loses more than this share of itself in one step, and no temperature moves further.
LARGEST_LOSS: Final = 0.9
LARGEST_MOVE_K: Final = 30.0
# Rows solved together, so that the work arrays stay in the processor's cache (measured).
CHUNK: Final = 500
_TINY: Final = 1e-200


@dataclass(frozen=True, slots=True)
class PartedRoots:
    """Flash points over several liquids, one entry per row.

    `moles` of each liquid has the shape (rows, phases, liquids), as `compositions` has. Where
    `found` is False nothing else counts: the search ended elsewhere, or two liquids became one.
    """

    flash_k: Array
    moles: Array
    found: NDArray[np.bool_]

    @property
    def compositions(self) -> Array:
        """The mole fractions in each liquid."""
        result: Array = self.moles / self.moles.sum(axis=2, keepdims=True)
        return result


@dataclass(frozen=True, slots=True)
class _Slopes:
    """ln a with its slopes by moles (rows, phases, liquid, by liquid) and by temperature."""

    ln_activity: Array
    by_moles: Array
    by_kelvin: Array


def parted_roots(
    flash_sum: FlashSum, moles: Array, temperature_k: Array, target: float
) -> PartedRoots:
    """Solve rows that part, from a guess of their liquids and their flash points.

    `moles` has the shape (rows, phases, liquids) and sums over the phases to the blend; `target`
    is the wanted logarithm of the sum.
    """
    flash_k, amounts = temperature_k.copy(), np.maximum(moles, _TINY)
    found = np.zeros(len(moles), dtype=bool)
    for start in range(0, len(moles), CHUNK):
        chunk = slice(start, start + CHUNK)
        found[chunk] = _converge(flash_sum, amounts[chunk], flash_k[chunk], target)
    result = PartedRoots(flash_k, amounts, found)
    compositions = result.compositions
    for one, other in combinations(range(moles.shape[1]), 2):
        apart = np.abs(compositions[:, one] - compositions[:, other]).max(axis=1)
        found &= apart > SAME_PHASE
    return result


def _converge(
    flash_sum: FlashSum, moles: Array, temperature_k: Array, target: float
) -> NDArray[np.bool_]:
    """Improve moles and temperatures in place; return which rows arrived."""
    arrived = np.zeros(len(moles), dtype=bool)
    rows = np.arange(len(moles))
    for _ in range(MAXIMUM_STEPS):
        moves, moves_k, near = _step(flash_sum, moles[rows], temperature_k[rows], target)
        moles[rows] = np.maximum(moles[rows] + moves, _TINY)
        temperature_k[rows] += moves_k
        arrived[rows] = near
        inside = (temperature_k[rows] > LOWEST_K) & (temperature_k[rows] < HIGHEST_K)
        rows = rows[~near & inside]
        if not len(rows):
            break
    return arrived


def _step(
    flash_sum: FlashSum, moles: Array, temperature_k: Array, target: float
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return the moves of moles and temperature, and which rows are exact after them."""
    free = moles.shape[1] - 1
    slopes = _slopes(flash_sum, moles, temperature_k)
    ln_sum, share, slope_k = _sum_and_slope(flash_sum, slopes, temperature_k)
    missing = target - ln_sum
    first, last = moles[:, :free], moles[:, free:]
    # Scaled by these, the ideal part of the matrix is near the unit matrix, however small a trace.
    present = np.minimum(first, last) > _TINY
    scale = np.where(present, np.sqrt(first * last / (first + last)), 0.0)
    uneven = np.where(present, slopes.ln_activity[:, :free] - slopes.ln_activity[:, free:], 0.0)
    matrix = _matrix(slopes, share, slope_k, scale.reshape(len(moles), -1))
    wanted = np.concatenate([-(scale * uneven).reshape(len(moles), -1), missing[:, None]], axis=1)
    solved = _solved(matrix, wanted)
    moves = scale * solved[:, :-1].reshape(scale.shape)
    moves = np.concatenate([moves, -moves.sum(axis=1, keepdims=True)], axis=1)
    move_k = solved[:, -1]
    excess = np.maximum((-moves / moles).max(axis=(1, 2)) / LARGEST_LOSS,
                        np.abs(move_k) / LARGEST_MOVE_K)  # fmt: skip
    part = 1 / np.maximum(1.0, excess)
    near = (np.abs(uneven).max(axis=(1, 2)) < NEAR) & (np.abs(missing) < NEAR) & (part == 1)
    return moves * part[:, None, None], move_k * part, near


def _matrix(slopes: _Slopes, share: Array, slope_k: Array, scale: Array) -> Array:
    """Return the slopes of (uneven activities, ln of the sum) by (scaled moles, kelvin)."""
    count, phases, size = slopes.ln_activity.shape
    free, unknowns = phases - 1, scale.shape[1]
    blocks = np.repeat(slopes.by_moles[:, None, free], free * free, axis=1)
    blocks = blocks.reshape(count, free, free, size, size)
    for p in range(free):
        blocks[:, p, p] += slopes.by_moles[:, p]
    uneven_k = slopes.by_kelvin[:, :free] - slopes.by_kelvin[:, free:]
    matrix = np.zeros((count, unknowns + 1, unknowns + 1))
    matrix[:, :-1, :-1] = blocks.transpose(0, 1, 3, 2, 4).reshape(count, unknowns, unknowns)
    matrix[:, :-1, :-1] *= scale[:, :, None] * scale[:, None, :]
    every = np.arange(unknowns)
    matrix[:, every, every] += scale == 0  # a component that is absent does not move
    matrix[:, :-1, -1] = scale * uneven_k.reshape(count, -1)
    matrix[:, -1, :size] = (share[:, None, :] @ slopes.by_moles[:, 0])[:, 0] * scale[:, :size]
    matrix[:, -1, -1] = slope_k
    return matrix


def _slopes(flash_sum: FlashSum, moles: Array, temperature_k: Array) -> _Slopes:
    """Return the activities in every liquid, by one call of the model for all small steps."""
    count, phases, size = moles.shape
    amount = moles.sum(axis=2, keepdims=True)
    x = moles / amount
    stepped = np.repeat(x[None], size + 2, axis=0)
    for i in range(size):
        stepped[i + 1, :, :, i] += STEP_MOLES
    stepped[1:-1] /= 1 + STEP_MOLES
    kelvin = np.broadcast_to(temperature_k[:, None], (size + 2, count, phases)).copy()
    kelvin[-1] += STEP_K
    ln_gamma = flash_sum.model.ln_gamma(stepped.reshape(-1, size), kelvin.reshape(-1))
    ln_gamma = ln_gamma.reshape(stepped.shape)
    by_moles: Array = (ln_gamma[1:-1] - ln_gamma[0]).transpose(1, 2, 3, 0) / STEP_MOLES - 1.0
    by_moles /= amount[..., None]
    every = np.arange(size)
    by_moles[:, :, every, every] += 1 / moles
    return _Slopes(np.log(x) + ln_gamma[0], by_moles, (ln_gamma[-1] - ln_gamma[0]) / STEP_K)


def _sum_and_slope(
    flash_sum: FlashSum, slopes: _Slopes, temperature_k: Array
) -> tuple[Array, Array, Array]:
    """Return the log of the sum in the first liquid, each liquid's share, and the slope by K."""
    burns = flash_sum.flammable
    ratio = flash_sum.ln_pressure_ratio(temperature_k).T
    ratio_k = (flash_sum.ln_pressure_ratio(temperature_k + STEP_K).T - ratio) / STEP_K
    share = np.zeros(slopes.ln_activity[:, 0].shape)
    share[:, burns] = np.exp(slopes.ln_activity[:, 0, burns] + ratio)
    total = share.sum(axis=1)
    share /= total[:, None]
    slope_k = (share[:, burns] * (slopes.by_kelvin[:, 0, burns] + ratio_k)).sum(axis=1)
    return np.log(total), share, slope_k


def _solved(matrix: Array, wanted: Array) -> Array:
    """Solve each row's equations; a row without a solution stays where it is."""
    try:
        return np.asarray(np.linalg.solve(matrix, wanted[:, :, None]), dtype=np.float64)[:, :, 0]
    except np.linalg.LinAlgError:
        if len(matrix) == 1:
            return np.zeros_like(wanted)
        half = len(matrix) // 2
        return np.concatenate(
            [_solved(matrix[:half], wanted[:half]), _solved(matrix[half:], wanted[half:])]
        )
