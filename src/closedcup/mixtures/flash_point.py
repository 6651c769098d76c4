"""The closed-cup flash point of blends: the root of Liaw's sum, for whole arrays at once.

    Σ x_i γ_i(T, x) p_i(T) / p_i(T_flash,i) = p / 101.325 kPa,   over the flammable liquids.

An inert liquid (water) counts in x and γ only. The lower flammable limit of each liquid is taken
as constant in per cent by volume, which is why pressure stands on the right. The criterion is
from Liaw and co-workers, J. Loss Prev. Process Ind. 15 (2002) 429 (memory); the pressure form
follows from the constant limit.

The root is sought in 1/T, in which the logarithm of each term is nearly a straight line: from the
ideal sum, with a secant for each term, kept inside a bracket by bisection; converged rows leave.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import DEFAULT, ActivityModel, activity_model
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_values import correlations_of, pure_flashes
from closedcup.mixtures.vapour_pressure import Correlation, ln_vapour_pressure
from closedcup.quantities.pressure import STANDARD_KPA

Array = NDArray[np.float64]

KELVIN: Final = 273.15
# Rows per batch: the work arrays of UNIFAC then stay in the processor's cache (measured).
CHUNK: Final = 4000
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

    def highest_flash_pressure_pa(self) -> float:
        """Return the highest vapour pressure that a flammable liquid has at its flash point."""
        logs = [
            float(ln_vapour_pressure(correlation, np.asarray(flash)))
            for correlation, flash in zip(self.correlations, self.flash_k, strict=True)
            if not np.isnan(flash)
        ]
        return float(np.exp(max(logs)))

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
    activity: str = DEFAULT,
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
    liquids: Sequence[Liquid], *, flash_c: Sequence[float] | None = None, activity: str = DEFAULT
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
    """Drop roots at which the blend would already boil.

    At the root the flammable part of the pressure is at most the highest p(T_flash), and the
    inert liquids add at most their own pressures (twice that, to be safe where a liquid would
    rather part): only rows that could boil by this bound are computed.
    """
    rows = np.flatnonzero(~np.isnan(flash_k))
    if not len(rows) or flash_sum.flammable.all():
        return
    inert = [c for c, burns in zip(flash_sum.correlations, flash_sum.flammable, strict=True)
             if not burns]  # fmt: skip
    bound_pa = np.full(len(rows), flash_sum.highest_flash_pressure_pa())
    for correlation in inert:
        bound_pa += 2 * np.exp(ln_vapour_pressure(correlation, flash_k[rows]))
    rows = rows[bound_pa >= 1000 * pressure_kpa]
    if len(rows):
        total = flash_sum.total_pressure_kpa(x[rows], flash_k[rows])
        boiling = rows[total >= pressure_kpa]
        flash_k[boiling] = np.nan
        no_flash[boiling] = BOILS_FIRST


def roots_k(
    log_parts: Callable[[NDArray[np.intp], Array], Array],
    weights: Array,
    inverse: Array,
    slopes: Array,
    target: float,
) -> tuple[Array, int]:
    """Find where ln Σ w_i exp(E_i(T)) reaches the target; nan where it does not.

    `log_parts(rows, temperature_k)` returns E of the rows still open, shape (parts, rows);
    `weights` has that shape too; `inverse` (1/K) and `slopes` (dE/d(1/T)) start the search. Each
    part is nearly straight in 1/T, so its slope is a secant of its own, and the step is Halley's
    on the sum of these exponentials; `hot` and `cold` close in from both sides, and a step out of
    them is a bisection. A row leaves when its next error, by the order of a secant, is too small
    to matter. Returns kelvin and the number of evaluations.
    """
    count = len(inverse)
    hot, cold = np.full(count, 1 / HIGHEST_K), np.full(count, 1 / LOWEST_K)
    roots, rows, evaluations = np.full(count, np.nan), np.arange(count), 0
    before, log_before = inverse, np.empty(0)
    earlier, last = np.full(count, np.inf), np.full(count, np.inf)
    for step in range(MAXIMUM_STEPS):
        logs = log_parts(rows, 1 / inverse)
        evaluations += len(rows)
        if step:
            with np.errstate(divide="ignore", invalid="ignore"):
                slopes = (logs - log_before) / (inverse - before)
        excess, move = _halley(weights * np.exp(logs), slopes, target)
        hot = np.where(excess > 0, inverse, hot)
        cold = np.where(excess > 0, cold, inverse)
        following = inverse + move
        outside = ~((following >= hot) & (following <= cold))
        following[outside] = (hot[outside] + cold[outside]) / 2
        size, enough = np.abs(following - inverse), STEP_K * following**2
        done = (size < enough) | ((size * size < 0.1 * enough * earlier) & ~outside & (step > 1))
        roots[rows[done]] = 1 / following[done]
        if done.all():
            break
        going = ~done
        before, log_before, inverse = inverse[going], logs[:, going], following[going]
        earlier, last = last[going], size[going]
        rows, hot, cold, weights = rows[going], hot[going], cold[going], weights[:, going]
    roots[(roots < LOWEST_K + 1) | (roots > HIGHEST_K - 1)] = np.nan
    return roots, evaluations


def _halley(parts: Array, slopes: Array, target: float) -> tuple[Array, Array]:
    """Return how far ln Σ is above the target, and the step in 1/T; nan where it does not fall."""
    total = parts.sum(axis=0)
    share = parts / total
    slope = (share * slopes).sum(axis=0)
    curvature = (share * slopes * slopes).sum(axis=0) - slope * slope
    excess = np.log(total) - target
    with np.errstate(divide="ignore", invalid="ignore"):
        newton = -excess / np.where(slope < 0, slope, np.nan)
        move = newton / np.maximum(1 + newton * curvature / (2 * slope), 0.5)
    return excess, move


def _chunk_roots_k(flash_sum: FlashSum, x: Array, pressure_kpa: float) -> tuple[Array, int]:
    flammable = flash_sum.flammable

    def log_parts(rows: NDArray[np.intp], temperature_k: Array) -> Array:
        asked = x if len(rows) == len(x) else x[rows]
        ln_gamma = flash_sum.model.ln_gamma(asked, temperature_k).T[flammable]
        return ln_gamma + flash_sum.ln_pressure_ratio(temperature_k)

    share = np.ascontiguousarray(x[:, flammable].T)
    target = float(np.log(pressure_kpa / STANDARD_KPA))
    inverse, slopes = _ideal_start(flash_sum, share, target)
    return roots_k(log_parts, share, inverse, slopes, target)


def _ideal_start(flash_sum: FlashSum, share: Array, target: float) -> tuple[Array, Array]:
    """Return 1/T and the slope of each ln p per 1/T, for an ideal liquid with straight ln p.

    Two steps on the logarithm of Σ x_i exp(−B_i (1/T − 1/T_flash,i)); the rest is not ideal.
    """
    flash_k = flash_sum.flash_k[flash_sum.flammable]
    inverse_flash = (1 / flash_k)[:, None]
    # B by a difference over one kelvin each way.
    around = [flash_sum.ln_pressure_ratio(flash_k + offset).diagonal() for offset in (-1.0, 1.0)]
    slopes = ((around[1] - around[0]) / (1 / (flash_k + 1) - 1 / (flash_k - 1)))[:, None]
    inverse = (share * inverse_flash).sum(axis=0) / share.sum(axis=0)
    for _ in range(2):
        parts = share * np.exp(slopes * (inverse - inverse_flash))
        inverse = inverse + _halley(parts, slopes, target)[1]
    return np.clip(inverse, 1 / HIGHEST_K, 1 / LOWEST_K), slopes
