"""Flash points of blends that may part into two liquids, or three.

All liquids in equilibrium have the same activities, so the sum may be taken in any of them, and
the flash point is the same at every composition between them. Each row is first solved as one
liquid; where that liquid is unstable at its flash point, and the split is believed, the sum is
solved again on the parted liquids.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import ActivityModel
from closedcup.mixtures.flash_point import BOILS_FIRST, KELVIN, FlashRoots, FlashSum, solve
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pair_parting import parting_pairs
from closedcup.mixtures.parted_flash import (
    Parted,
    on_three_liquids,
    on_two_liquids,
    third_liquids,
)
from closedcup.mixtures.phase_split import unstable_trials
from closedcup.quantities.pressure import STANDARD_KPA

Array = NDArray[np.float64]

# Group contributions misplace the temperature at which two liquids become one by tens of degrees:
# a split that is gone within this distance of the flash point is not decided (our judgement).
DECIDED_K: Final = 25.0
# So many pairs of the liquids must part on their own before a third liquid is believed.
PAIRS_FOR_THREE: Final = 2
NOT_PARTED: Final = "the liquids that it parts into could not be found"
# How often a blend is parted anew when two liquids were found to be the wrong ones.
ATTEMPTS: Final = 2


@dataclass(frozen=True, slots=True)
class TwoLiquidRoots:
    """Flash points with the number of liquids at them; one entry per row.

    `roots` holds the answer, `as_one_liquid` the root without a split. `composition` is what the
    sum was taken on: the blend, or the first of the parted liquids; the others are nan where there
    are none. `undecided` marks splits that vanish within 25 °C, `spurious` splits of the model that
    are known not to happen, `third` rows that may hold a third liquid but were solved on two.
    """

    roots: FlashRoots
    as_one_liquid: FlashRoots
    liquid_phases: NDArray[np.int_]
    composition: Array
    other_composition: Array
    third_composition: Array
    undecided: NDArray[np.bool_]
    spurious: NDArray[np.bool_]
    third: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Search:
    """What is solved: the sum, the logarithm wanted of it, and the pressure at the cup."""

    flash_sum: FlashSum
    target: float
    pressure_kpa: float


def solve_with_split(
    flash_sum: FlashSum,
    liquids: Sequence[Liquid],
    mole_fractions: Array,
    pressure_kpa: float = STANDARD_KPA,
    *,
    thorough: bool = True,
) -> TwoLiquidRoots:
    """Return the flash point of each row, on two or three liquids where it parts.

    `mole_fractions` has the shape (rows, liquids). Splits are believed only if at least one pair
    of the liquids (two for a third liquid), not known to be miscible, parts on its own at that
    temperature. Without `thorough` rows whose split would not be believed are not even tested, and
    the answers are not doubted: much faster for many rows; `spurious` and `undecided` stay false.
    """
    one = solve(flash_sum, mole_fractions, pressure_kpa)
    result = _unparted(one, mole_fractions)
    rows = np.flatnonzero(mole_fractions[:, flash_sum.flammable].any(axis=1))
    if len(rows) == 0 or len(liquids) == 1 or flash_sum.model.name == "ideal":
        return result
    flash_k = _asked_at_k(flash_sum, mole_fractions[rows], one.flash_c[rows])
    pairs = parting_pairs(
        flash_sum.model, liquids, mole_fractions[rows], flash_k, enough=PAIRS_FOR_THREE
    )
    if not thorough:
        rows, flash_k, pairs = rows[pairs > 0], flash_k[pairs > 0], pairs[pairs > 0]
        if len(rows) == 0:
            return result
    unstable, trial = unstable_trials(flash_sum.model, mole_fractions[rows], flash_k)
    believed = unstable & (pairs > 0)
    result.spurious[rows] = unstable & ~believed
    if believed.any():
        search = _Search(flash_sum, float(np.log(pressure_kpa / STANDARD_KPA)), pressure_kpa)
        rows, pairs, start_k = rows[believed], pairs[believed], flash_k[believed]
        feed = mole_fractions[rows]
        two = on_two_liquids(flash_sum, feed, trial[believed], start_k, search.target)
        _enter(search, result, rows, two)
        result.roots.flash_c[rows[two.failed]] = np.nan
        result.roots.no_flash[rows[two.failed]] = NOT_PARTED
        may = two.found & ((pairs >= PAIRS_FOR_THREE) | thorough)
        _look_for_third(search, result, rows[may], two.of(may), pairs[may] >= PAIRS_FOR_THREE)
        if thorough:
            _doubt(flash_sum.model, result, mole_fractions)
    return result


def _asked_at_k(flash_sum: FlashSum, x: Array, flash_c: Array) -> Array:
    """Return where each row is tested for stability: at its flash point as one liquid.

    A liquid held together against its will may have none; it is tested where the lowest of the
    liquids in it flashes.
    """
    flash_k = np.where(np.isnan(flash_c), np.inf, flash_c + KELVIN)
    lost = np.flatnonzero(np.isnan(flash_c))
    for i in np.flatnonzero(flash_sum.flammable):
        holds = lost[x[lost, i] > 0]
        flash_k[holds] = np.minimum(flash_k[holds], flash_sum.flash_k[i])
    return flash_k


def _unparted(one: FlashRoots, mole_fractions: Array) -> TwoLiquidRoots:
    count = len(mole_fractions)
    return TwoLiquidRoots(
        roots=FlashRoots(one.flash_c.copy(), one.no_flash.copy(), one.evaluations),
        as_one_liquid=one,
        liquid_phases=np.ones(count, dtype=int),
        composition=mole_fractions.copy(),
        other_composition=np.full_like(mole_fractions, np.nan),
        third_composition=np.full_like(mole_fractions, np.nan),
        undecided=np.zeros(count, dtype=bool),
        spurious=np.zeros(count, dtype=bool),
        third=np.zeros(count, dtype=bool),
    )


def _enter(search: _Search, result: TwoLiquidRoots, rows: NDArray[np.intp], parted: Parted) -> None:
    """Enter the answers of rows that were found to be several liquids."""
    found = parted.found
    rows, flash_k, liquids = rows[found], parted.flash_k[found], parted.compositions[found]
    total_kpa = search.flash_sum.total_pressure_kpa(liquids[:, 0], flash_k)
    boiling = total_kpa >= search.pressure_kpa
    result.roots.flash_c[rows] = np.where(boiling, np.nan, flash_k - KELVIN)
    result.roots.no_flash[rows] = np.where(boiling, BOILS_FIRST, "")
    result.liquid_phases[rows] = liquids.shape[1]
    fields = (result.composition, result.other_composition, result.third_composition)
    for place, field in zip(range(liquids.shape[1]), fields, strict=False):
        field[rows] = liquids[:, place]


def _look_for_third(
    search: _Search,
    result: TwoLiquidRoots,
    rows: NDArray[np.intp],
    two: Parted,
    believed: NDArray[np.bool_],
) -> None:
    """Solve rows on three liquids where two are unstable and a third is believed; mark the rest.

    Where three liquids find no answer the first two may have been the wrong pair: the blend is
    parted again from the trial that showed it.
    """
    if two.moles.shape[2] < 3:
        return
    flash_sum, target = search.flash_sum, search.target
    for attempt in range(ATTEMPTS):
        unstable, trial = third_liquids(flash_sum.model, two)
        result.third[rows] = unstable
        if attempt:
            _enter(search, result, rows[~unstable], two.of(~unstable))
        asked = unstable & believed
        rows, two, trial = rows[asked], two.of(asked), trial[asked]
        three = on_three_liquids(flash_sum, two, trial, target)
        _enter(search, result, rows, three)
        result.third[rows[three.found]] = False
        left = ~three.found
        rows, trial, feed = rows[left], trial[left], two.moles[left].sum(axis=1)
        again = on_two_liquids(flash_sum, feed, trial, two.flash_k[left], target)
        rows, two = rows[again.found], again.of(again.found)
        believed = np.ones(len(rows), dtype=bool)
        if not len(rows):
            return


def _doubt(model: ActivityModel, result: TwoLiquidRoots, feed: Array) -> None:
    """Mark the parted rows whose split is soon gone."""
    rows = np.flatnonzero((result.liquid_phases > 1) & ~np.isnan(result.roots.flash_c))
    flash_k = result.roots.flash_c[rows] + KELVIN
    for offset in (-DECIDED_K, DECIDED_K):
        still, _ = unstable_trials(model, feed[rows], flash_k + offset)
        result.undecided[rows] |= ~still
