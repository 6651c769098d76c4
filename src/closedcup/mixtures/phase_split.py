"""Whether a blend parts into two liquids, and which.

Stability is Michelsen's tangent-plane test (Fluid Phase Equilibria 9 (1982) 1, memory): a liquid
is unstable when some trial composition lies below the tangent plane of its free energy. Trials
start near each pure liquid. Two phases are then found by successive substitution on equal
activities, sped up by its dominant eigenvalue. All rows at once.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import ActivityModel

Array = NDArray[np.float64]

TRIAL_PURITY: Final = 0.98
MAXIMUM_TRIAL_STEPS: Final = 100
MAXIMUM_SPLIT_STEPS: Final = 400
# A trial this far below the tangent plane (in units of RT) proves the liquid unstable; round-off
# of the trivial solution stays a thousand times nearer.
BELOW_PLANE: Final = -1e-7
# Compositions nearer than this are one phase.
SAME_PHASE: Final = 1e-3
CONVERGED: Final = 1e-8
SHARE_CONVERGED: Final = 1e-11
_TINY: Final = 1e-300


@dataclass(frozen=True, slots=True)
class Phases:
    """Two liquids in equilibrium, one row each; `parted` is False where they turned out equal."""

    first: Array
    second: Array
    first_share: Array
    parted: NDArray[np.bool_]


def unstable_trials(
    model: ActivityModel, mole_fractions: Array, temperature_k: Array
) -> tuple[NDArray[np.bool_], Array]:
    """Test each row for stability; return which rows are unstable and a trial that shows it.

    Shapes: (rows, liquids) and (rows,) in, (rows,) and (rows, liquids) out. A row that passes is
    stable against every trial tried, which is strong evidence, not proof.
    """
    plane = np.log(np.maximum(mole_fractions, _TINY))
    plane += model.ln_gamma(mole_fractions, temperature_k)
    row, liquid = np.nonzero(mole_fractions > 0)
    size = mole_fractions.shape[1]
    purest = TRIAL_PURITY * np.eye(size) + (1 - TRIAL_PURITY) / size
    trial = purest[liquid] * (mole_fractions[row] > 0)
    trial /= trial.sum(axis=1, keepdims=True)
    depth = np.zeros(len(row))
    going = np.arange(len(row))
    for _ in range(MAXIMUM_TRIAL_STEPS):
        current, own_plane = trial[going], plane[row[going]]
        ln_gamma = model.ln_gamma(current, temperature_k[row[going]])
        offset = np.log(np.maximum(current, _TINY)) + ln_gamma - own_plane
        depth[going] = (current * offset).sum(axis=1)
        amounts = np.exp(own_plane - ln_gamma)
        following = amounts / amounts.sum(axis=1, keepdims=True)
        below = depth[going] < BELOW_PLANE
        trivial = np.abs(following - mole_fractions[row[going]]).max(axis=1) < SAME_PHASE / 10
        settled = np.abs(following - current).max(axis=1) < CONVERGED
        trial[going[~below]] = following[~below]
        going = going[~(below | trivial | settled)]
        if not len(going):
            break
    by_liquid = np.zeros_like(mole_fractions)
    by_liquid[row, liquid] = depth
    lowest = by_liquid.argmin(axis=1)
    trials = np.zeros((*mole_fractions.shape, size))
    trials[row, liquid] = trial
    return by_liquid.min(axis=1) < BELOW_PLANE, trials[np.arange(len(lowest)), lowest]


def split(
    model: ActivityModel, feed: Array, temperature_k: Array, first: Array, second: Array
) -> Phases:
    """Part unstable liquids into two of equal activities, from a guess of both.

    All compositions have the shape (rows, liquids), temperatures (rows,) in kelvin.
    """
    ln_ratio = model.ln_gamma(second, temperature_k) - model.ln_gamma(first, temperature_k)
    first, second = first.copy(), second.copy()
    change_before = np.zeros_like(ln_ratio)
    share = np.full(len(feed), 0.5)
    rows = np.arange(len(feed))
    for step in range(1, MAXIMUM_SPLIT_STEPS + 1):
        ratio, at = ln_ratio[rows], temperature_k[rows]
        share[rows] = _share_of_first(feed[rows], np.exp(ratio), share[rows])
        light = feed[rows] / (1 + share[rows][:, None] * np.expm1(ratio))
        heavy = light * np.exp(ratio)
        second[rows] = light = light / light.sum(axis=1, keepdims=True)
        first[rows] = heavy = heavy / heavy.sum(axis=1, keepdims=True)
        wanted = model.ln_gamma(light, at) - model.ln_gamma(heavy, at)
        change = wanted - ratio
        ln_ratio[rows] = wanted if step % 4 else wanted + _ahead(change, change_before[rows])
        change_before[rows] = change
        one_liquid = np.abs(heavy - light).max(axis=1) < SAME_PHASE / 10
        rows = rows[(np.abs(change).max(axis=1) >= CONVERGED) & ~one_liquid]
        if not len(rows):
            break
    parted = np.abs(first - second).max(axis=1) > SAME_PHASE
    return Phases(first, second, share, parted & (share > 0) & (share < 1))


def _ahead(change: Array, change_before: Array) -> Array:
    """Return the rest of a geometric series of changes, judged by its last two members."""
    eigenvalue = (change * change_before).sum(axis=1) / np.maximum(
        (change_before * change_before).sum(axis=1), _TINY
    )
    eigenvalue = np.clip(eigenvalue, 0.0, 0.95)[:, None]
    rest: Array = change * eigenvalue / (1 - eigenvalue)
    return rest


def _share_of_first(feed: Array, ratio: Array, share: Array) -> Array:
    """Solve Rachford and Rice's equation for the share of the first phase.

    Σ z (K − 1) / (1 + β (K − 1)) falls as β grows from 0 to 1: Newton steps from the last share,
    kept inside a bracket by bisection.
    """
    result = share.copy()
    rows, columns = np.arange(len(feed)), np.ascontiguousarray(feed.T)
    excess = np.ascontiguousarray(ratio.T) - 1
    low, high = np.zeros(len(feed)), np.ones(len(feed))
    for _ in range(50):
        part = excess / (1 + share * excess)
        weighted = columns * part
        value, fall = _sum(weighted), _sum(weighted * part)
        low, high = np.where(value > 0, share, low), np.where(value > 0, high, share)
        following = share + value / np.maximum(fall, _TINY)
        inside = (following > low) & (following < high)
        following = np.where(inside, following, (low + high) / 2)
        going = np.abs(following - share) >= SHARE_CONVERGED
        result[rows] = following
        if not going.any():
            break
        rows, share, low, high = rows[going], following[going], low[going], high[going]
        columns, excess = columns[:, going], excess[:, going]
    return result


def _sum(columns: Array) -> Array:
    """Sum over the liquids, which are few: much faster than a reduction along a short axis."""
    total: Array = columns[0].copy()
    for column in columns[1:]:
        total += column
    return total
