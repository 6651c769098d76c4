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

from closedcup.mixtures.flash_point import BOILS_FIRST, KELVIN, FlashRoots, FlashSum, roots_k, solve
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.miscibility import known_miscible
from closedcup.mixtures.phase_split import SAME_PHASE, split, unstable_trials
from closedcup.quantities.pressure import STANDARD_KPA

Array = NDArray[np.float64]

# Group contributions misplace the temperature at which two liquids become one by tens of degrees:
# a split that is gone within this distance of the flash point is not decided (our judgement).
DECIDED_K: Final = 25.0
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
) -> TwoLiquidRoots:
    """Return the flash point of each row, on two liquids where it parts.

    `mole_fractions` has the shape (rows, liquids). Splits are believed only if at least one pair
    of the liquids, not known to be miscible, parts on its own at that temperature.
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
    unstable, trial = unstable_trials(flash_sum.model, mole_fractions[rows], flash_k)
    believed = np.array([
        parts and _some_pair_parts(flash_sum, liquids, x, at)
        for parts, x, at in zip(unstable, mole_fractions[rows], flash_k, strict=True)
    ])  # fmt: skip
    result.spurious[rows] = unstable & ~believed
    if believed.any():
        parting = _Parting(rows[believed], trial[believed], flash_k[believed])
        _solve_parted(flash_sum, result, parting, pressure_kpa)
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


def _some_pair_parts(
    flash_sum: FlashSum, liquids: Sequence[Liquid], x: Array, temperature_k: float
) -> bool:
    """Whether a pair that is not known to be miscible parts on its own, somewhere on its line."""
    line = np.linspace(0.02, 0.98, 25)
    candidates = []
    for i, j in combinations(np.flatnonzero(x > 0).tolist(), 2):
        if not known_miscible(liquids[i], liquids[j]):
            pair = np.zeros((len(line), len(x)))
            pair[:, i], pair[:, j] = line, 1 - line
            candidates.append(pair)
    if not candidates:
        return False
    rows = np.concatenate(candidates)
    unstable, _ = unstable_trials(flash_sum.model, rows, np.full(len(rows), temperature_k))
    return bool(unstable.any())


def _solve_parted(
    flash_sum: FlashSum, result: TwoLiquidRoots, parting: _Parting, pressure_kpa: float
) -> None:
    """Solve the sum on the parted liquids and enter the answers of these rows."""
    rows = parting.rows
    model, feed = flash_sum.model, result.composition[rows]
    first, second = parting.trial.copy(), feed.copy()
    parted = np.zeros(len(rows), dtype=bool)

    def ln_sum(asked: NDArray[np.intp], temperature_k: Array) -> Array:
        phases = split(model, feed[asked], temperature_k, first[asked], second[asked])
        parted[asked] = phases.parted
        first[asked[phases.parted]] = phases.first[phases.parted]
        second[asked[phases.parted]] = phases.second[phases.parted]
        liquid = np.where(phases.parted[:, None], phases.first, feed[asked])
        return flash_sum.ln_sum(liquid, temperature_k)

    target = float(np.log(pressure_kpa / STANDARD_KPA))
    flash_k, _ = roots_k(ln_sum, 1 / parting.start_k, np.full(len(rows), USUAL_FALL_K), target)
    parted &= ~np.isnan(flash_k)
    hit, flash_k = rows[parted], flash_k[parted]
    first, second = first[parted], second[parted]
    boiling = flash_sum.total_pressure_kpa(first, flash_k) >= pressure_kpa
    result.roots.flash_c[hit] = np.where(boiling, np.nan, flash_k - KELVIN)
    result.roots.no_flash[hit] = np.where(boiling, BOILS_FIRST, "")
    result.liquid_phases[hit] = 2
    result.composition[hit], result.other_composition[hit] = first, second
    unstable, third = unstable_trials(model, first, flash_k)
    result.third[hit] = unstable & (np.abs(third - second).max(axis=1) > 10 * SAME_PHASE)
    for offset in (-DECIDED_K, DECIDED_K):
        still, _ = unstable_trials(model, feed[parted], flash_k + offset)
        result.undecided[hit] |= ~still
