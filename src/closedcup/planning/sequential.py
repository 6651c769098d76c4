"""Threshold and scatter together, test by test: what is known, and where to test next.

For studies of a reference material or an apparatus, where the scatter itself is wanted. The search
for one sample's flash point takes the scatter from the method's precision instead.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from closedcup.metrology.sensitivity import log_probit_information
from closedcup.planning.belief import Observed
from closedcup.planning.observing import Floats


@dataclass(frozen=True, slots=True, eq=False)
class JointBelief:
    """Chances of threshold (rows) and scatter (columns); they sum to 1."""

    threshold_cup_c: Floats
    scatter_c: Floats
    chance: Floats

    @property
    def mean_cup_c(self) -> float:
        """The mean threshold."""
        return float(self.chance.sum(axis=1) @ self.threshold_cup_c)

    @property
    def sd_c(self) -> float:
        """The standard deviation of the threshold."""
        off_c = self.threshold_cup_c - self.mean_cup_c
        return float(np.sqrt(self.chance.sum(axis=1) @ off_c**2))

    @property
    def mean_scatter_c(self) -> float:
        """The mean scatter."""
        return float(self.chance.sum(axis=0) @ self.scatter_c)


def even_belief(threshold_cup_c: npt.ArrayLike, scatter_c: npt.ArrayLike) -> JointBelief:
    """Return equal chances on a grid; scatters spaced by a factor are even in the logarithm."""
    threshold, scatter = np.asarray(threshold_cup_c, float), np.asarray(scatter_c, float)
    shape = (len(threshold), len(scatter))
    return JointBelief(threshold, scatter, np.full(shape, 1 / (shape[0] * shape[1])))


def joint_after(belief: JointBelief, observations: Sequence[Observed]) -> JointBelief:
    """Return the belief after observations; P(flash at T) = Φ((T - threshold) / scatter)."""
    with np.errstate(divide="ignore"):
        log = np.log(belief.chance)
    for one in observations:
        log = log + _log_chance(belief, one.cup_c, flashed=one.flashed)
    chance = np.exp(log - log.max())
    return JointBelief(belief.threshold_cup_c, belief.scatter_c, chance / chance.sum())


def most_informative(
    belief: JointBelief, observations: Sequence[Observed], candidates_cup_c: npt.ArrayLike
) -> float:
    """Return the candidate with the largest mean log determinant of all information.

    The Bayesian D-optimal choice (Dror and Steinberg, JASA 103 (2008) 288-298, memory). belief:
    after the observations. The determinant is summed as Σ JᵢJⱼ(zᵢ - zⱼ)²/scatter⁴ in logarithms:
    in plain numbers it underflows and sends the choice to the edge of the grid. Of equals, the
    first. Without an observation every determinant is 0 and the mean threshold's neighbour is
    returned.
    """
    candidates = np.asarray(candidates_cup_c, dtype=float)
    if not observations:
        return float(candidates[np.argmin(np.abs(candidates - belief.mean_cup_c))])
    seen = np.array([one.cup_c for one in observations])
    z, j = _placed(belief, seen)
    so_far = np.full(belief.chance.shape, -np.inf)
    for later in range(1, len(seen)):
        pairs = j[later] + j[:later] + _log_square(z[later] - z[:later])
        so_far = np.logaddexp(so_far, np.logaddexp.reduce(pairs, axis=0))
    value = np.empty(len(candidates))
    for place, cup_c in enumerate(candidates):
        at, its_j = _placed(belief, np.array([cup_c]))
        pairs = its_j + j + _log_square(at - z)
        value[place] = np.sum(
            belief.chance * np.logaddexp(so_far, np.logaddexp.reduce(pairs, axis=0))
        )
    return float(candidates[np.argmax(value)])


def least_variance(belief: JointBelief, candidates_cup_c: npt.ArrayLike) -> tuple[float, float]:
    """Return the candidate after which the threshold's variance is expected least, and its root.

    Of equals, the first.
    """
    candidates = np.asarray(candidates_cup_c, dtype=float)
    expected = np.empty(len(candidates))
    for place, cup_c in enumerate(candidates):
        flash = np.exp(_log_chance(belief, float(cup_c), flashed=True))
        parts = (belief.chance * flash, belief.chance * (1 - flash))
        expected[place] = sum(_weighed_variance(belief, part) for part in parts)
    best = int(np.argmin(expected))
    return float(candidates[best]), float(np.sqrt(expected[best]))


def _weighed_variance(belief: JointBelief, part: Floats) -> float:
    weight = float(part.sum())
    if weight <= 0:
        return 0.0
    marginal = part.sum(axis=1)
    mean_c = float(marginal @ belief.threshold_cup_c) / weight
    return float(marginal @ (belief.threshold_cup_c - mean_c) ** 2)


def _placed(belief: JointBelief, cup_c: Floats) -> tuple[Floats, Floats]:
    """Return z, and ln(J / scatter²), of temperatures (first axis) on the grid."""
    off_c = cup_c[:, None, None] - belief.threshold_cup_c[:, None]
    z = off_c / belief.scatter_c
    return z, log_probit_information(z) - 2 * np.log(belief.scatter_c)


def _log_square(z: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        return np.asarray(2 * np.log(np.abs(z)))


def _log_chance(belief: JointBelief, cup_c: float, *, flashed: bool) -> Floats:
    from scipy.special import log_ndtr  # noqa: PLC0415 - loaded when a chance is computed

    z = (cup_c - belief.threshold_cup_c[:, None]) / belief.scatter_c
    return np.asarray(log_ndtr(z if flashed else -z), dtype=float)
