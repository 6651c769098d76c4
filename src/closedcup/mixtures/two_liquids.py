"""Flash points of blends that may part into two liquids.

Both liquids have the same activities, so the sum may be taken in either, and the flash point is
the same at every composition between them. Each row is first solved as one liquid; where that
liquid is unstable at its flash point, and the split is believed, the sum is solved again on the
parted liquids.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import ActivityModel
from closedcup.mixtures.flash_point import BOILS_FIRST, KELVIN, FlashRoots, FlashSum, roots_k, solve
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.miscibility import known_miscible
from closedcup.mixtures.phase_split import SAME_PHASE, split, unstable_trials
from closedcup.quantities.pressure import STANDARD_KPA

Array = NDArray[np.float64]

# Group contributions misplace the temperature at which two liquids become one by tens of degrees:
# a split that is gone within this distance of the flash point is not decided (our judgement).
DECIDED_K: Final = 25.0
# How finely a pair's own parting is looked for: in temperature, and along its line.
PAIR_STEP_K: Final = 2.0
PAIR_LINE: Final = np.linspace(0.01, 0.99, 50)
# Typical fall of ln p per 1/T of a solvent near its flash point; it only starts the secant.
USUAL_FALL_K: Final = 5000.0


@dataclass(frozen=True, slots=True)
class TwoLiquidRoots:
    """Flash points with the number of liquids at them; one entry per row.

    `roots` holds the answer, `as_one_liquid` the root without a split. `composition` is what the
    sum was taken on: the blend, or the first of the parted liquids. `undecided` marks splits that
    vanish within 25 °C, `spurious` splits of the model that are known not to happen, `third`
    parted liquids that are themselves unstable.
    """

    roots: FlashRoots
    as_one_liquid: FlashRoots
    liquid_phases: NDArray[np.int_]
    composition: Array
    other_composition: Array
    undecided: NDArray[np.bool_]
    spurious: NDArray[np.bool_]
    third: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Parting:
    """Rows that part: which, with a liquid that they part into, and where they flash as one."""

    rows: NDArray[np.intp]
    trial: Array
    start_k: Array


def solve_with_split(
    flash_sum: FlashSum,
    liquids: Sequence[Liquid],
    mole_fractions: Array,
    pressure_kpa: float = STANDARD_KPA,
    *,
    thorough: bool = True,
) -> TwoLiquidRoots:
    """Return the flash point of each row, on two liquids where it parts.

    `mole_fractions` has the shape (rows, liquids). Splits are believed only if at least one pair
    of the liquids, not known to be miscible, parts on its own at that temperature. Without
    `thorough` rows whose split would not be believed are not even tested, and the answers are
    not doubted: much faster for many rows; `spurious`, `undecided` and `third` stay false.
    """
    one = solve(flash_sum, mole_fractions, pressure_kpa)
    result = _unparted(one, mole_fractions)
    rows = np.flatnonzero(mole_fractions[:, flash_sum.flammable].any(axis=1))
    if len(rows) == 0 or len(liquids) == 1 or flash_sum.model.name == "ideal":
        return result
    # A liquid held together against its will may have no root at all; it is tested where the
    # lowest of the pure liquids flashes.
    flash_k = np.where(
        np.isnan(one.flash_c[rows]), np.nanmin(flash_sum.flash_k), one.flash_c[rows] + KELVIN
    )
    may_part = some_pair_parts(flash_sum.model, liquids, mole_fractions[rows], flash_k)
    if not thorough:
        rows, flash_k, may_part = rows[may_part], flash_k[may_part], may_part[may_part]
        if len(rows) == 0:
            return result
    unstable, trial = unstable_trials(flash_sum.model, mole_fractions[rows], flash_k)
    believed = unstable & may_part
    result.spurious[rows] = unstable & ~believed
    if believed.any():
        parting = _Parting(rows[believed], trial[believed], flash_k[believed])
        _solve_parted(flash_sum, result, parting, pressure_kpa)
        if thorough:
            _doubt(flash_sum.model, result, mole_fractions)
    return result


def _unparted(one: FlashRoots, mole_fractions: Array) -> TwoLiquidRoots:
    count = len(mole_fractions)
    return TwoLiquidRoots(
        roots=FlashRoots(one.flash_c.copy(), one.no_flash.copy(), one.evaluations),
        as_one_liquid=one,
        liquid_phases=np.ones(count, dtype=int),
        composition=mole_fractions.copy(),
        other_composition=np.full_like(mole_fractions, np.nan),
        undecided=np.zeros(count, dtype=bool),
        spurious=np.zeros(count, dtype=bool),
        third=np.zeros(count, dtype=bool),
    )


def some_pair_parts(
    model: ActivityModel, liquids: Sequence[Liquid], x: Array, temperature_k: Array
) -> NDArray[np.bool_]:
    """Whether a pair that is not known to be miscible parts on its own, for each row.

    A pair parts where its activity falls as its amount grows, somewhere on its line. Temperatures
    are taken to the nearest kelvin or two: the question is coarse.
    """
    parts = np.zeros(len(x), dtype=bool)
    for i, j in combinations(range(len(liquids)), 2):
        rows = np.flatnonzero((x[:, i] > 0) & (x[:, j] > 0) & ~parts)
        if len(rows) and not known_miscible(liquids[i], liquids[j]):
            steps = np.round(temperature_k[rows] / PAIR_STEP_K).astype(int)
            asked, place = np.unique(steps, return_inverse=True)
            parts[rows] = _pair_parts(model, len(liquids), (i, j), asked * PAIR_STEP_K)[place]
    return parts


def _pair_parts(
    model: ActivityModel, size: int, pair: tuple[int, int], temperature_k: Array
) -> NDArray[np.bool_]:
    """Whether a pair parts on its own at each of these temperatures."""
    line = np.tile(PAIR_LINE, len(temperature_k))
    x = np.zeros((len(line), size))
    x[:, pair[0]], x[:, pair[1]] = line, 1 - line
    ln_gamma = model.ln_gamma(x, np.repeat(temperature_k, len(PAIR_LINE)))[:, pair[0]]
    ln_activity = (np.log(line) + ln_gamma).reshape(len(temperature_k), len(PAIR_LINE))
    falls: NDArray[np.bool_] = np.diff(ln_activity, axis=1) < 0
    return np.asarray(falls.any(axis=1))


def _solve_parted(
    flash_sum: FlashSum, result: TwoLiquidRoots, parting: _Parting, pressure_kpa: float
) -> None:
    """Solve the sum on the parted liquids and enter the answers of these rows."""
    rows = parting.rows
    model, feed = flash_sum.model, result.composition[rows]
    first, second = parting.trial.copy(), feed.copy()
    parted = np.zeros(len(rows), dtype=bool)

    def log_parts(asked: NDArray[np.intp], temperature_k: Array) -> Array:
        phases = split(model, feed[asked], temperature_k, first[asked], second[asked])
        parted[asked] = phases.parted
        first[asked[phases.parted]] = phases.first[phases.parted]
        second[asked[phases.parted]] = phases.second[phases.parted]
        liquid = np.where(phases.parted[:, None], phases.first, feed[asked])
        return flash_sum.ln_sum(liquid, temperature_k)[None, :]

    target = float(np.log(pressure_kpa / STANDARD_KPA))
    weights, slopes = np.ones((1, len(rows))), np.full((1, len(rows)), -USUAL_FALL_K)
    flash_k, _ = roots_k(log_parts, weights, 1 / parting.start_k, slopes, target)
    parted &= ~np.isnan(flash_k)
    hit, flash_k = rows[parted], flash_k[parted]
    first, second = first[parted], second[parted]
    boiling = flash_sum.total_pressure_kpa(first, flash_k) >= pressure_kpa
    result.roots.flash_c[hit] = np.where(boiling, np.nan, flash_k - KELVIN)
    result.roots.no_flash[hit] = np.where(boiling, BOILS_FIRST, "")
    result.liquid_phases[hit] = 2
    result.composition[hit], result.other_composition[hit] = first, second


def _doubt(model: ActivityModel, result: TwoLiquidRoots, feed: Array) -> None:
    """Mark the parted rows that may hold a third liquid, or whose split is soon gone."""
    rows = np.flatnonzero((result.liquid_phases > 1) & ~np.isnan(result.roots.flash_c))
    first, second = result.composition[rows], result.other_composition[rows]
    flash_k = result.roots.flash_c[rows] + KELVIN
    unstable, third = unstable_trials(model, first, flash_k)
    result.third[rows] = unstable & (np.abs(third - second).max(axis=1) > 10 * SAME_PHASE)
    for offset in (-DECIDED_K, DECIDED_K):
        still, _ = unstable_trials(model, feed[rows], flash_k + offset)
        result.undecided[rows] |= ~still
