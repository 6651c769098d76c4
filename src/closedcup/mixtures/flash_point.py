"""The closed-cup flash point of blends: the root of Liaw's sum, for whole arrays at once.

    Σ x_i γ_i(T, x) p_i(T) / p_i(T_flash,i) = p / 101.325 kPa,   over the flammable liquids.

An inert liquid (water) counts in x and γ only. The lower flammable limit of each liquid is taken
as constant in per cent by volume, which is why pressure stands on the right. The criterion is
from Liaw and co-workers, J. Loss Prev. Process Ind. 15 (2002) 429 (memory); the pressure form
follows from the constant limit.

The root is sought in 1/T, in which the logarithm of the sum is nearly a straight line: a Newton
step on the ideal sum, then secants, kept inside a bracket by bisection; converged rows leave.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import ActivityModel, activity_model
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_values import correlations_of, pure_flashes
from closedcup.mixtures.vapour_pressure import Correlation, ln_vapour_pressure
from closedcup.quantities.pressure import STANDARD_KPA

Array = NDArray[np.float64]

KELVIN: Final = 273.15
# Rows per batch: the work arrays of UNIFAC then stay in the processor's cache (measured: two
# thousand rows take half the time per row of one large batch).
CHUNK: Final = 2000
# The search never leaves this span; outside it no closed cup is used and no correlation holds.
LOWEST_K: Final = 150.0
HIGHEST_K: Final = 750.0
# A secant step this small leaves an error far below a thousandth of a degree.
STEP_K: Final = 1e-4
MAXIMUM_STEPS: Final = 60
BOILS_FIRST: Final = "the blend boils before its vapour can flash"


@dataclass(frozen=True, slots=True)
class FlashRoots:
    """Flash points of many blends: one entry per row.

    `flash_c` is nan where there is no root; `no_flash` says why in words ("" where there is one).
    """

    flash_c: Array
    no_flash: NDArray[np.str_]
    evaluations: int


@dataclass(frozen=True, slots=True)
class FlashSum:
    """Liaw's sum for fixed liquids: what each contributes to the flammability of the vapour.

    `flash_k` is nan for inert liquids.
    """

    model: ActivityModel
    correlations: tuple[Correlation, ...]
    flash_k: Array

    @property
    def flammable(self) -> NDArray[np.bool_]:
        """Which liquids are in the sum."""
        return ~np.isnan(self.flash_k)

    def ln_pressure_ratio(self, temperature_k: Array) -> Array:
        """Return ln(p_i(T) / p_i(T_flash,i)) of the flammable liquids, shape (flammable, rows)."""
        return np.stack(
            [
                ln_vapour_pressure(correlation, temperature_k)
                - ln_vapour_pressure(correlation, np.asarray(flash))
                for correlation, flash in zip(self.correlations, self.flash_k, strict=True)
                if not np.isnan(flash)
            ]
        )

    def terms(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return x_i γ_i p_i(T) / p_i(T_flash,i), shape (rows, flammable)."""
        ln_gamma = self.model.ln_gamma(mole_fractions, temperature_k)[:, self.flammable]
        ratio = self.ln_pressure_ratio(temperature_k).T
        result: Array = mole_fractions[:, self.flammable] * np.exp(ln_gamma + ratio)
        return result

    def ln_sum(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return the logarithm of the sum, shape (rows,)."""
        result: Array = np.log(self.terms(mole_fractions, temperature_k).sum(axis=1))
        return result

    def total_pressure_kpa(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return the vapour pressure of the whole blend, inert liquids included, shape (rows,)."""
        ln_gamma = self.model.ln_gamma(mole_fractions, temperature_k)
        ln_p = np.stack([ln_vapour_pressure(c, temperature_k) for c in self.correlations], axis=1)
        result: Array = (mole_fractions * np.exp(ln_gamma + ln_p)).sum(axis=1) / 1000
        return result


def flash_points_c(
    mole_fractions: Array,
    liquids: Sequence[Liquid],
    *,
    flash_c: Sequence[float] | None = None,
    activity: str = "unifac",
    pressure_kpa: float = STANDARD_KPA,
) -> FlashRoots:
    """Return the flash points of many blends of the same liquids, each as one liquid phase.

    `mole_fractions` has the shape (rows, liquids) and rows that sum to one; `flash_c` replaces
    the consensus flash points (nan for an inert liquid). `pressure_kpa` is the pressure at the
    cup, and the result is what the cup shows there (at 101.325 kPa both scales agree). Raises
    Refused where a vapour pressure or activity parameter is missing. For blends that may split
    into two liquids use `estimate`.
    """
    flash_sum = make_sum(liquids, flash_c=flash_c, activity=activity)
    return solve(flash_sum, np.atleast_2d(np.asarray(mole_fractions, dtype=float)), pressure_kpa)


def make_sum(
    liquids: Sequence[Liquid], *, flash_c: Sequence[float] | None = None, activity: str = "unifac"
) -> FlashSum:
    """Put together what the sum needs; raises Refused where something is missing."""
    if flash_c is None:
        flash_c = [pure.flash_c for pure in pure_flashes(liquids)]
    return FlashSum(
        model=activity_model(activity, liquids),
        correlations=correlations_of(liquids),
        flash_k=np.asarray(flash_c, dtype=float) + KELVIN,
    )


def solve(flash_sum: FlashSum, mole_fractions: Array, pressure_kpa: float) -> FlashRoots:
    """Return the root of the sum for each row; see `flash_points_c`."""
    rows = len(mole_fractions)
    flash_k = np.full(rows, np.nan)
    no_flash = np.full(rows, "", dtype="U64")
    present = mole_fractions[:, flash_sum.flammable].sum(axis=1) > 0
    no_flash[~present] = "no flammable liquid is present"
    evaluations = 0
    indices = np.flatnonzero(present)
    for start in range(0, len(indices), CHUNK):
        chunk = indices[start : start + CHUNK]
        flash_k[chunk], used = _chunk_roots_k(flash_sum, mole_fractions[chunk], pressure_kpa)
        evaluations += used
    no_flash[present & np.isnan(flash_k)] = "the sum reaches no root in the range of the search"
    _mark_boiling(flash_sum, mole_fractions, pressure_kpa, flash_k, no_flash)
    flash_c = _with_exact_ends(flash_sum, mole_fractions, pressure_kpa, flash_k - KELVIN)
    return FlashRoots(flash_c, no_flash, evaluations)


def _with_exact_ends(flash_sum: FlashSum, x: Array, pressure_kpa: float, flash_c: Array) -> Array:
    """Give pure liquids their own flash point to the last digit at the standard pressure."""
    if pressure_kpa == STANDARD_KPA:
        for index in np.flatnonzero(flash_sum.flammable):
            pure_c = round(float(flash_sum.flash_k[index]) - KELVIN, 9)
            flash_c[(x[:, index] == 1.0) & ~np.isnan(flash_c)] = pure_c
    return flash_c


def _mark_boiling(
    flash_sum: FlashSum, x: Array, pressure_kpa: float, flash_k: Array, no_flash: NDArray[np.str_]
) -> None:
    """Drop roots at which the blend would already boil."""
    rows = np.flatnonzero(~np.isnan(flash_k))
    if len(rows) and not flash_sum.flammable.all():
        total = flash_sum.total_pressure_kpa(x[rows], flash_k[rows])
        boiling = rows[total >= pressure_kpa]
        flash_k[boiling] = np.nan
        no_flash[boiling] = BOILS_FIRST


def roots_k(
    ln_sum: Callable[[NDArray[np.intp], Array], Array], inverse: Array, fall: Array, target: float
) -> tuple[Array, int]:
    """Secant in 1/T on the logarithm of the sum, with a bisection guard; nan where no root.

    `ln_sum(rows, temperature_k)` is asked for the rows still open; it falls as 1/T grows, and
    `hot` and `cold` close in on the root from both sides. `inverse` and `fall` start the search
    (1/K, and the fall of the logarithm per 1/K). Returns kelvin and the number of evaluations.
    """
    count = len(inverse)
    hot, cold = np.full(count, 1 / HIGHEST_K), np.full(count, 1 / LOWEST_K)
    roots, rows, evaluations = np.full(count, np.nan), np.arange(count), 0
    before, excess_before = inverse, np.zeros(count)
    for step in range(MAXIMUM_STEPS):
        excess = ln_sum(rows, 1 / inverse) - target
        evaluations += len(rows)
        hot = np.where(excess > 0, inverse, hot)
        cold = np.where(excess > 0, cold, inverse)
        if step:
            with np.errstate(divide="ignore", invalid="ignore"):
                fall = (excess - excess_before) / (before - inverse)
        following = np.where(fall > 0, inverse + excess / np.where(fall > 0, fall, 1.0), np.nan)
        outside = ~((following >= hot) & (following <= cold))
        following[outside] = (hot[outside] + cold[outside]) / 2
        done = np.abs(following - inverse) < STEP_K * following**2
        roots[rows[done]] = 1 / following[done]
        if done.all():
            break
        going = ~done
        before, excess_before, inverse = inverse[going], excess[going], following[going]
        rows, hot, cold = rows[going], hot[going], cold[going]
    roots[(roots < LOWEST_K + 1) | (roots > HIGHEST_K - 1)] = np.nan
    return roots, evaluations


def _chunk_roots_k(flash_sum: FlashSum, x: Array, pressure_kpa: float) -> tuple[Array, int]:
    def ln_sum(rows: NDArray[np.intp], temperature_k: Array) -> Array:
        return flash_sum.ln_sum(x if len(rows) == len(x) else x[rows], temperature_k)

    target = float(np.log(pressure_kpa / STANDARD_KPA))
    return roots_k(ln_sum, *_ideal_start(flash_sum, x, target), target)


def _ideal_start(flash_sum: FlashSum, x: Array, target: float) -> tuple[Array, Array]:
    """Return 1/T and the fall of the logarithm per 1/T for an ideal liquid with straight ln p.

    Newton steps on the logarithm of Σ x_i exp(−B_i (1/T − 1/T_flash,i)), which is convex.
    """
    flammable = flash_sum.flammable
    share = np.ascontiguousarray(x[:, flammable].T)
    flash_k = flash_sum.flash_k[flammable]
    inverse_flash = (1 / flash_k)[:, None]
    # B by a difference over one kelvin each way.
    around = [flash_sum.ln_pressure_ratio(flash_k + offset).diagonal() for offset in (-1.0, 1.0)]
    b = ((around[1] - around[0]) / (1 / (flash_k - 1) - 1 / (flash_k + 1)))[:, None]
    inverse = (share * inverse_flash).sum(axis=0) / share.sum(axis=0)
    for _ in range(4):
        parts = share * np.exp(b * (inverse_flash - inverse))
        total = parts.sum(axis=0)
        fall = (b * parts).sum(axis=0) / total
        inverse = inverse + (np.log(total) - target) / fall
    return np.clip(inverse, 1 / HIGHEST_K, 1 / LOWEST_K), fall
