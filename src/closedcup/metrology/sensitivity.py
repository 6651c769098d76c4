"""Yes or no at several temperatures: a threshold and its scatter, by probit or Dixon and Mood.

For studies of a material or an apparatus; the search for one sample's flash point is planned
elsewhere. Temperatures may be any numbers on one scale.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from closedcup.errors import InputError, Refused

Floats = npt.NDArray[np.float64]

_MOST_ROUNDS: Final = 100
_SETTLED: Final = 1e-12  # relative change of the log likelihood
_DIXON_MOOD_LEAST_M: Final = 0.3  # below it the formula for the scatter does not hold (memory)


@dataclass(frozen=True, slots=True)
class ProbitFit:
    """P(yes at x) = Φ(intercept + slope x) = Φ((x - threshold) / scatter), by maximum likelihood.

    standard_errors: of intercept and slope. deviance: against the observed shares.
    """

    intercept: float
    slope: float
    standard_errors: tuple[float, float]
    threshold: float
    threshold_standard_error: float
    scatter: float
    deviance: float


@dataclass(frozen=True, slots=True)
class UpAndDown:
    """Threshold and scatter of an up-and-down series, from its rarer answer.

    scatter: None where the series is too narrow for the formula. n: answers used.
    """

    counting: str
    n: int
    threshold: float
    scatter: float | None
    m: float


def fit_probit(x: npt.ArrayLike, tested: npt.ArrayLike, yes: npt.ArrayLike) -> ProbitFit:
    """Fit threshold and scatter to counts of yes among the tested at each x (equal lengths).

    Fisher scoring with step halving. Raises Refused where yes and no do not overlap: then only
    the interval between them is known and no scatter. InputError for counts that are not counts.
    """
    at, n, k = (np.asarray(one, dtype=float) for one in (x, tested, yes))
    if not (at.ndim == 1 and at.shape == n.shape == k.shape and len(at)):
        raise InputError("counts-shape", "Temperatures and counts do not match.", where="series")
    if not (np.isfinite(at).all() and (n > 0).all() and (k >= 0).all() and (k <= n).all()):
        raise InputError("counts-impossible", "Counts must lie from 0 to tested.", where="series")
    _refuse_separated(at, n, k)
    centre, width = float(np.average(at, weights=n)), float(at.std()) or 1.0
    design = np.column_stack([np.ones_like(at), (at - centre) / width])
    fitted, information = _scored(design, n, k)
    covariance = np.linalg.inv(information)
    back = np.array([[1.0, -centre / width], [0.0, 1.0 / width]])
    intercept, slope = back @ fitted
    covariance = back @ covariance @ back.T
    threshold = -intercept / slope
    gradient = np.array([-1.0, -threshold]) / slope
    return ProbitFit(
        intercept=float(intercept),
        slope=float(slope),
        standard_errors=(float(covariance[0, 0] ** 0.5), float(covariance[1, 1] ** 0.5)),
        threshold=float(threshold),
        threshold_standard_error=float((gradient @ covariance @ gradient) ** 0.5),
        scatter=float(1 / slope),
        deviance=_deviance(design @ fitted, n, k),
    )


def dixon_mood(levels: npt.ArrayLike, counts: npt.ArrayLike, *, counting: str) -> UpAndDown:
    """Return threshold and scatter from how often the rarer answer came at evenly spaced levels.

    counting: "yes" or "no". threshold = x0 + d (A/N ∓ 1/2), - where yes is counted; scatter =
    1.620 d (M + 0.029) with M = (N B - A²) / N². Dixon and Mood, JASA 43 (1948) 109-126 (memory).
    Raises InputError for levels that are uneven or do not match the counts.
    """
    at, n = np.asarray(levels, dtype=float), np.asarray(counts, dtype=float)
    apart = np.diff(at)
    if counting not in ("yes", "no") or at.shape != n.shape or n.sum() < 1:
        raise InputError("counts-shape", "Levels and counts do not match.", where="series")
    if len(at) < 2 or apart[0] <= 0 or not np.allclose(apart, apart[0]):
        raise InputError(
            "levels-uneven",
            "An up-and-down series needs evenly spaced levels, lowest first.",
            where="series",
            fix="Fit a probit instead.",
        )
    place = np.arange(len(at))
    total, a, b = float(n.sum()), float(place @ n), float(place**2 @ n)
    m = (total * b - a * a) / total**2
    step = float(apart[0])
    shift = -0.5 if counting == "yes" else 0.5
    return UpAndDown(
        counting=counting,
        n=int(total),
        threshold=float(at[0] + step * (a / total + shift)),
        scatter=1.620 * step * (m + 0.029) if m > _DIXON_MOOD_LEAST_M else None,
        m=m,
    )


def up_and_down(x: npt.ArrayLike, yes: npt.ArrayLike) -> UpAndDown:
    """Return Dixon and Mood's estimate from a series as it was made (x and yes in order).

    Raises Refused for a series with one answer only.
    """
    at, said = np.asarray(x, dtype=float), np.asarray(yes, dtype=bool)
    if at.shape != said.shape or said.all() or not said.any():
        raise Refused(
            "one-answer-only",
            "A series with one answer only does not bracket a threshold.",
            where="series",
            fix="Go on until both answers were seen.",
        )
    rarer = bool(said.sum() * 2 <= len(said))
    seen = np.unique(at)
    step = float(np.diff(seen).min()) if len(seen) > 1 else 1.0
    chosen = at[said == rarer]
    first = float(chosen.min())
    place = np.rint((chosen - first) / step).astype(int)
    counts = np.bincount(place, minlength=2)
    levels = first + step * np.arange(len(counts))
    return dixon_mood(levels, counts, counting="yes" if rarer else "no")


def probit_information(z: npt.ArrayLike) -> Floats:
    """Return J(z) = φ² / (Φ (1 - Φ)): what one test z scatters from the threshold tells of it.

    J(0) = 2/π, so a threshold's variance from n tests is at least π/2 · scatter²/n.
    """
    return np.asarray(np.exp(log_probit_information(z)), dtype=float)


def log_probit_information(z: npt.ArrayLike) -> Floats:
    """Return ln J(z); good far out in the tails, where J underflows."""
    at = np.asarray(z, dtype=float)
    return np.asarray(-(at**2) - np.log(2 * np.pi) - _log_normal(at) - _log_normal(-at))


def d_optimal_distance() -> float:
    """Return how many scatters below and above the threshold two-point tests tell most of both.

    It maximises z² J(z)², the determinant of the information of tests at ∓z.
    """
    low, high = 0.5, 2.0
    for _ in range(60):
        z = np.linspace(low, high, 9)
        best = int(np.argmax(np.log(z) + log_probit_information(z)))
        low, high = float(z[max(best - 1, 0)]), float(z[min(best + 1, 8)])
    return (low + high) / 2


def _refuse_separated(x: Floats, tested: Floats, yes: Floats) -> None:
    no_at, yes_at = x[yes < tested], x[yes > 0]
    if not len(no_at) or not len(yes_at):
        raise Refused(
            "one-answer-only",
            "A series with one answer only does not bracket a threshold.",
            where="series",
            fix="Test further out until both answers were seen.",
        )
    upward, downward = no_at.max() <= yes_at.min(), yes_at.max() <= no_at.min()
    if upward or downward:
        low, high = sorted((no_at.max(), yes_at.min()) if upward else (yes_at.max(), no_at.min()))
        raise Refused(
            "no-overlap",
            f"Yes and no do not overlap: the threshold lies between {low:g} and {high:g}, and "
            "nothing is known of the scatter.",
            where="series",
            fix="Report the interval, or test more between its ends.",
        )


def _scored(design: Floats, tested: Floats, yes: Floats) -> tuple[Floats, Floats]:
    """Return the maximum likelihood coefficients and their information."""
    fitted = np.zeros(2)
    likelihood = _log_likelihood(design @ fitted, tested, yes)
    information = np.eye(2)
    for _ in range(_MOST_ROUNDS):
        z = design @ fitted
        density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi)
        chance = np.exp(_log_normal(z))
        weight = tested * probit_information(z)
        slope = design.T @ (weight * (yes / tested - chance) / density)
        information = design.T @ (weight[:, None] * design)
        step, taken = np.linalg.solve(information, slope), 1.0
        while (new := _log_likelihood(design @ (fitted + taken * step), tested, yes)) < likelihood:
            taken /= 2
            if taken < _SETTLED:
                return fitted, information
        fitted = fitted + taken * step
        if new - likelihood <= _SETTLED * abs(new):
            return fitted, information
        likelihood = new
    raise Refused("not-converged", "The fit does not settle.", where="series")


def _log_likelihood(z: Floats, tested: Floats, yes: Floats) -> float:
    return float(yes @ _log_normal(z) + (tested - yes) @ _log_normal(-z))


def _deviance(z: Floats, tested: Floats, yes: Floats) -> float:
    from scipy.special import xlogy  # noqa: PLC0415 - loaded when a fit is made

    best = xlogy(yes, yes / tested) + xlogy(tested - yes, 1 - yes / tested)
    return float(2 * (best.sum() - _log_likelihood(z, tested, yes)))


def _log_normal(z: Floats) -> Floats:
    from scipy.special import log_ndtr  # noqa: PLC0415 - loaded when a fit is made

    distribution: Any = log_ndtr
    return np.asarray(distribution(z), dtype=float)
