"""Whether a blend parts into two liquids, and which.

Stability is Michelsen's tangent-plane test (Fluid Phase Equilibria 9 (1982) 1, memory): a liquid
is unstable when some trial composition lies below the tangent plane of its free energy. Trials
start near each pure liquid. Two phases are then found by successive substitution on equal
activities. Both are sped up by the dominant eigenvalue of their steps. All rows at once.
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
# Where only a near answer is wanted, so is the share.
SHARE_NEAR: Final = 1e-4
_TINY: Final = 1e-300


@dataclass(frozen=True, slots=True)
class Phases:
    """Two liquids in equilibrium, one row each; `parted` is False where they turned out equal."""

    first: Array
    second: Array
    first_share: Array
    parted: NDArray[np.bool_]


def unstable_trials(
    model: ActivityModel,
    mole_fractions: Array,
    temperature_k: Array,
    beside: Array | None = None,
) -> tuple[NDArray[np.bool_], Array]:
    """Test each row for stability; return which rows are unstable and a trial that shows it.

    Shapes: (rows, liquids) and (rows,) in, (rows,) and (rows, liquids) out. `beside` is a liquid
    known to be in equilibrium with each row: a trial that ends in it shows nothing new. A row that
    passes is stable against every trial tried, which is strong evidence, not proof.
    """
    # Columns are rows of work arrays here: sums over few liquids are much faster that way.
    blend = np.ascontiguousarray(mole_fractions.T)
    size = len(blend)
    plane = np.log(np.maximum(blend, _TINY)) + model.ln_gamma(mole_fractions, temperature_k).T
    known = [blend] if beside is None else [blend, np.ascontiguousarray(beside.T)]
    row, liquid = np.nonzero(mole_fractions > 0)
    purest = TRIAL_PURITY * np.eye(size) + (1 - TRIAL_PURITY) / size
    trial = purest[:, liquid] * (blend[:, row] > 0)
    trial /= _sum(trial)
    depth = np.zeros(len(row))
    change_before = np.zeros_like(trial)
    proved = np.zeros(len(mole_fractions), dtype=bool)
    going = np.arange(len(row))
    for step in range(1, MAXIMUM_TRIAL_STEPS + 1):
        current, asked = trial[:, going], row[going]
        ln_current = np.log(np.maximum(current, _TINY))
        wanted = plane[:, asked] - model.ln_gamma(current.T, temperature_k[asked]).T
        depth[going] = _sum(current * (ln_current - wanted))
        change = wanted - np.log(_sum(np.exp(wanted))) - ln_current
        change[current == 0] = 0.0  # what is absent has no say in the speed of the others
        rest = _ahead(change, change_before[:, going]) if step % 4 == 0 else 0.0
        change_before[:, going] = change
        following = current * np.exp(change + rest)
        following /= _sum(following)
        below = depth[going] < BELOW_PLANE
        proved[asked[below]] = True
        ends = np.abs(following - current).max(axis=0) < CONVERGED
        for each in known:
            ends |= np.abs(following - each[:, asked]).max(axis=0) < SAME_PHASE / 10
        trial[:, going] = np.where(below, current, following)
        going = going[~(ends | proved[asked])]
        if not len(going):
            break
    by_liquid = np.zeros_like(mole_fractions)
    by_liquid[row, liquid] = depth
    lowest = by_liquid.argmin(axis=1)
    trials = np.zeros((*mole_fractions.shape, size))
    trials[row, liquid] = trial.T
    return by_liquid.min(axis=1) < BELOW_PLANE, trials[np.arange(len(lowest)), lowest]


def split(  # noqa: PLR0913 - two liquids to start from
    model: ActivityModel,
    feed: Array,
    temperature_k: Array,
    first: Array,
    second: Array,
    *,
    steps: int = MAXIMUM_SPLIT_STEPS,
) -> Phases:
    """Part unstable liquids into two of equal activities, from a guess of both.

    All compositions have the shape (rows, liquids), temperatures (rows,) in kelvin. With few
    `steps` the answer is only near.
    """
    blend = np.ascontiguousarray(feed.T)
    ln_ratio = (model.ln_gamma(second, temperature_k) - model.ln_gamma(first, temperature_k)).T
    one, other = first.T.copy(), second.T.copy()
    change_before = np.zeros_like(ln_ratio)
    share = np.full(len(feed), 0.5)
    enough = SHARE_CONVERGED if steps >= MAXIMUM_SPLIT_STEPS else SHARE_NEAR
    rows = np.arange(len(feed))
    for step in range(1, steps + 1):
        ln_now, at = ln_ratio[:, rows], temperature_k[rows]
        ratio = np.exp(ln_now)
        share[rows] = _share_of_first(blend[:, rows], ratio, share[rows], enough)
        light = blend[:, rows] / (1 + share[rows] * (ratio - 1))
        heavy = light * ratio
        other[:, rows] = light = light / _sum(light)
        one[:, rows] = heavy = heavy / _sum(heavy)
        wanted = (model.ln_gamma(light.T, at) - model.ln_gamma(heavy.T, at)).T
        change = np.where(blend[:, rows] > 0, wanted - ln_now, 0.0)
        ln_ratio[:, rows] = wanted if step % 4 else wanted + _ahead(change, change_before[:, rows])
        change_before[:, rows] = change
        one_liquid = np.abs(heavy - light).max(axis=0) < SAME_PHASE / 10
        rows = rows[(np.abs(change).max(axis=0) >= CONVERGED) & ~one_liquid]
        if not len(rows):
            break
    parted = np.abs(one - other).max(axis=0) > SAME_PHASE
    return Phases(one.T, other.T, share, parted & (share > 0) & (share < 1))


def _ahead(change: Array, change_before: Array) -> Array:
    """Return the rest of a geometric series of changes, judged by its last two members."""
    eigenvalue = _sum(change * change_before) / np.maximum(_sum(change_before**2), _TINY)
    eigenvalue = np.clip(eigenvalue, 0.0, 0.95)
    rest: Array = change * eigenvalue / (1 - eigenvalue)
    return rest


def _share_of_first(feed: Array, ratio: Array, share: Array, enough: float) -> Array:
    """Solve Rachford and Rice's equation for the share of the first phase.

    Σ z (K − 1) / (1 + β (K − 1)) falls as β grows from 0 to 1: Newton steps from the last share,
    kept inside a bracket by bisection. Shapes are (liquids, rows).
    """
    result = share.copy()
    rows, columns, excess = np.arange(len(share)), feed, ratio - 1
    low, high = np.zeros(len(share)), np.ones(len(share))
    for _ in range(50):
        part = excess / (1 + share * excess)
        weighted = columns * part
        value, fall = _sum(weighted), _sum(weighted * part)
        low, high = np.where(value > 0, share, low), np.where(value > 0, high, share)
        following = share + value / np.maximum(fall, _TINY)
        inside = (following > low) & (following < high)
        following = np.where(inside, following, (low + high) / 2)
        going = np.abs(following - share) >= enough
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
