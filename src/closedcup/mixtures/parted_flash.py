"""Flash points of blends that part into two or three liquids: from first guess to answer.

A few rounds of successive substitution bring the guess near, Newton's method (`liquid_equilibrium`)
finishes; what it cannot finish (liquids about to become one) goes back for more rounds. What is
left at last is solved the slow way: the parting found anew at every temperature tried.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import ActivityModel
from closedcup.mixtures.flash_point import LOWEST_K, FlashSum, roots_k
from closedcup.mixtures.liquid_equilibrium import parted_roots
from closedcup.mixtures.phase_split import SAME_PHASE, split, unstable_trials

Array = NDArray[np.float64]

# Rounds of substitution before each attempt of Newton's method (measured: few need the second).
ROUNDS: Final = (8, 32, 128)
# The least share of the blend that either liquid has in a guess.
LEAST_SHARE: Final = 1e-3
# How much of a third liquid a guess begins with, how many rounds come before each
# attempt of Newton's method, and how many steps each takes towards the amounts of the three.
THIRD_SHARE: Final = 0.1
ROUNDS_FOR_THREE: Final = (20, 80)
AMOUNT_STEPS: Final = 10
# Typical fall of ln p per 1/T of a solvent near its flash point; it only starts the secant.
USUAL_FALL_K: Final = 5000.0
# Log activities of one component that differ by more are no equilibrium.
EVEN: Final = 1e-4
_TINY: Final = 1e-300


@dataclass(slots=True)
class Parted:
    """Rows that part, one entry each: kelvin and moles, shape (rows, phases, liquids).

    Kelvin is nan where the blend ended as one liquid; moles are nan too where the search failed.
    """

    flash_k: Array
    moles: Array

    @property
    def compositions(self) -> Array:
        """The mole fractions in each liquid."""
        result: Array = self.moles / self.moles.sum(axis=2, keepdims=True)
        return result

    @property
    def found(self) -> NDArray[np.bool_]:
        """Where there is an answer."""
        return ~np.isnan(self.flash_k)

    @property
    def failed(self) -> NDArray[np.bool_]:
        """Where there should be an answer and none was found."""
        return np.asarray(np.isnan(self.moles).any(axis=(1, 2)))

    def of(self, rows: NDArray[np.bool_]) -> "Parted":
        """Return some of the rows."""
        return Parted(self.flash_k[rows], self.moles[rows])


def on_two_liquids(
    flash_sum: FlashSum, feed: Array, trial: Array, start_k: Array, target: float
) -> Parted:
    """Solve blends that part into two liquids; the first is the one that grows from `trial`.

    `feed` and `trial` have the shape (rows, liquids).
    """
    first, second = trial.copy(), feed.copy()
    result = Parted(np.full(len(feed), np.nan), np.ones((len(feed), 2, feed.shape[1])))
    rows = np.arange(len(feed))
    for steps in ROUNDS:
        near = split(
            flash_sum.model, feed[rows], start_k[rows], first[rows], second[rows], steps=steps
        )
        first[rows], second[rows] = near.first, near.second
        share = np.clip(near.first_share, LEAST_SHARE, 1 - LEAST_SHARE)[:, None]
        guess = np.stack([share * near.first, (1 - share) * near.second], axis=1)
        solved = parted_roots(flash_sum, _made_up(guess, feed[rows]), start_k[rows], target)
        hit = rows[solved.found]
        result.flash_k[hit] = solved.flash_k[solved.found]
        result.moles[hit] = solved.moles[solved.found]
        rows = rows[~solved.found]
        if not len(rows):
            return result
    rest = _slowly(flash_sum, (feed[rows], first[rows], second[rows]), start_k[rows], target)
    result.flash_k[rows], result.moles[rows] = rest.flash_k, rest.moles
    return result


def _slowly(
    flash_sum: FlashSum, guess: tuple[Array, Array, Array], start_k: Array, target: float
) -> Parted:
    """Solve rows, from blend and two liquids, by parting the blend anew at every temperature."""
    feed, first, second = guess
    share, parted = np.full(len(feed), 0.5), np.zeros(len(feed), dtype=bool)

    def log_parts(asked: NDArray[np.intp], temperature_k: Array) -> Array:
        phases = split(flash_sum.model, feed[asked], temperature_k, first[asked], second[asked])
        parted[asked], share[asked] = phases.parted, phases.first_share
        first[asked[phases.parted]] = phases.first[phases.parted]
        second[asked[phases.parted]] = phases.second[phases.parted]
        liquid = np.where(phases.parted[:, None], phases.first, feed[asked])
        return flash_sum.ln_sum(liquid, temperature_k)[None, :]

    weights, slopes = np.ones((1, len(feed))), np.full((1, len(feed)), -USUAL_FALL_K)
    flash_k, _ = roots_k(log_parts, weights, 1 / start_k, slopes, target)
    moles = np.stack([share[:, None] * first, (1 - share[:, None]) * second], axis=1)
    moles[parted & (_uneven(flash_sum.model, first, second, flash_k) > EVEN)] = np.nan
    parted &= ~np.isnan(moles).any(axis=(1, 2))
    return Parted(np.where(parted, flash_k, np.nan), moles)


def _uneven(model: ActivityModel, first: Array, second: Array, flash_k: Array) -> Array:
    """Return the largest difference of any component's ln activity between two liquids."""
    at = np.where(np.isnan(flash_k), LOWEST_K, flash_k)
    ln_ratio = np.log(np.maximum(first, _TINY)) - np.log(np.maximum(second, _TINY))
    ln_ratio += model.ln_gamma(first, at) - model.ln_gamma(second, at)
    result: Array = np.abs(np.where(first > 0, ln_ratio, 0.0)).max(axis=1)
    return result


def third_liquids(model: ActivityModel, parted: Parted) -> tuple[NDArray[np.bool_], Array]:
    """Test two liquids in equilibrium for a third; return where there is one, and a trial of it."""
    first, second = parted.compositions.transpose(1, 0, 2)
    unstable, trial = unstable_trials(model, first, parted.flash_k, beside=second)
    apart = np.abs(trial[:, None] - parted.compositions).max(axis=2).min(axis=1)
    return unstable & (apart > 10 * SAME_PHASE), trial


def on_three_liquids(flash_sum: FlashSum, two: Parted, trial: Array, target: float) -> Parted:
    """Solve blends on three liquids, from two of them and a trial of the third."""
    feed = two.moles.sum(axis=1)
    third = THIRD_SHARE * trial[:, None]
    moles = _made_up(np.concatenate([two.moles, third], axis=1), feed)
    result = Parted(np.full(len(feed), np.nan), moles.copy())
    rows = np.arange(len(feed))
    for rounds in ROUNDS_FOR_THREE:
        for _ in range(rounds):
            moles = _substituted(flash_sum.model, feed[rows], moles, two.flash_k[rows])
        solved = parted_roots(flash_sum, moles, two.flash_k[rows], target)
        hit = rows[solved.found]
        result.flash_k[hit] = solved.flash_k[solved.found]
        result.moles[hit] = solved.moles[solved.found]
        rows, moles = rows[~solved.found], moles[~solved.found]
        if not len(rows):
            break
    return result


def _made_up(guess: Array, feed: Array) -> Array:
    """Share the blend among liquids in the ratio of a guess of their moles."""
    total = guess.sum(axis=1, keepdims=True)
    return feed[:, None] * guess / np.where(total > 0, total, 1.0)


def _substituted(model: ActivityModel, feed: Array, moles: Array, temperature_k: Array) -> Array:
    """Take one round of substitution on several liquids: their amounts for the activities at hand.

    With fixed activity coefficients the amounts β minimise Σ β_p − Σ z_i ln Σ β_p/γ_pi
    (Michelsen); the multiplicative steps used here lower it at every step and keep β positive.
    """
    count, phases, size = moles.shape
    amount = moles.sum(axis=2)
    x = moles / amount[:, :, None]
    ln_gamma = model.ln_gamma(x.reshape(-1, size), np.repeat(temperature_k, phases))
    weight = np.exp(-ln_gamma).reshape(count, phases, size)
    for _ in range(AMOUNT_STEPS):
        share = feed[:, None] * weight / (amount[:, None, :] @ weight)
        amount = amount * share.sum(axis=2)
    result: Array = _made_up(amount[:, :, None] * weight, feed)
    return result
