"""What is believed of a flash point: chances on a grid of cup temperatures, and what tests add."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.errors import InputError
from closedcup.planning.observing import Floats, Observing

GRID_C: Final = 0.1  # the display of the usual cup (common practice)
_Z_95: Final = 1.959964  # half the width of a 95 % interval in standard deviations

# The share of estimates that are worth nothing (a wrong composition, a wrong label); a judgement of
# the program. How far those are off: Student's curve with 3 degrees of freedom over everything
# within reach, half of them by less than 18 °C (judgement too): small errors are likelier than
# large ones, and none is impossible.
DOUBT: Final = 0.02
_OFF_C: Final = 40.0

_MOST_PLACES: Final = 20_001  # of a grid: 2000 °C by 0.1 °C


@dataclass(frozen=True, slots=True)
class Observed:
    """One valid determination: the cup temperature of a fresh specimen, and whether it flashed."""

    cup_c: float
    flashed: bool


@dataclass(frozen=True, slots=True)
class Interval:
    """A flash point with an interval of 95 %, as the cup shows them."""

    best_cup_c: float
    low_cup_c: float
    high_cup_c: float

    def __post_init__(self) -> None:
        if not self.low_cup_c <= self.best_cup_c <= self.high_cup_c:
            raise InputError(
                "interval-order",
                f"{self.low_cup_c:g}, {self.best_cup_c:g}, {self.high_cup_c:g} °C are not low, "
                "best and high.",
                where="estimate",
                fix="Give the interval around the estimate.",
            )


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Chances of the flash point on an even grid of cup temperatures; they sum to 1."""

    flash_cup_c: Floats
    chance: Floats

    @property
    def mean_cup_c(self) -> float:
        """The mean."""
        return float(self.flash_cup_c @ self.chance)

    @property
    def sd_c(self) -> float:
        """The standard deviation."""
        return float(np.sqrt(self.chance @ (self.flash_cup_c - self.mean_cup_c) ** 2))

    def interval_cup_c(self, coverage: float = 0.95) -> tuple[float, float]:
        """Return the central interval of a coverage."""
        cumulated = np.cumsum(self.chance)
        tail = (1 - coverage) / 2
        last = len(self.chance) - 1
        low = min(int(np.searchsorted(cumulated, tail)), last)
        high = min(int(np.searchsorted(cumulated, 1 - tail)), last)
        return float(self.flash_cup_c[low]), float(self.flash_cup_c[high])

    def chance_between(self, low_cup_c: float, high_cup_c: float) -> float:
        """Return the chance that low < flash point ≤ high."""
        inside = (self.flash_cup_c > low_cup_c) & (self.flash_cup_c <= high_cup_c)
        return float(self.chance[inside].sum())


def prior_from_interval(
    estimate: Interval,
    *,
    lowest_cup_c: float,
    highest_cup_c: float,
    doubt: float = DOUBT,
    grid_c: float = GRID_C,
) -> Belief:
    """Return the belief that an estimate gives: two half normals that meet at the best value.

    The interval's ends lie 1.96 standard deviations off on their own side; at least one grid
    step. `doubt` is spread widely from lowest to highest, the reach of method and apparatus.
    Raises InputError for a reach that is empty, endless or without the grid.
    """
    flash_c = _grid(lowest_cup_c, highest_cup_c, grid_c)
    below_c = max((estimate.best_cup_c - estimate.low_cup_c) / _Z_95, grid_c)
    above_c = max((estimate.high_cup_c - estimate.best_cup_c) / _Z_95, grid_c)
    off_c = flash_c - estimate.best_cup_c
    sd_c = np.where(off_c < 0, below_c, above_c)
    shape: Floats = np.exp(-((off_c / sd_c) ** 2) / 2)
    if shape.sum() == 0:  # an estimate far outside the reach says nothing within it
        shape = np.ones(flash_c.size)
    wide = (1 + (off_c / _OFF_C) ** 2) ** -2.0
    chance = (1 - doubt) * shape / shape.sum() + doubt * wide / wide.sum()
    return Belief(flash_c, np.asarray(chance / chance.sum(), dtype=float))


def even_prior(*, lowest_cup_c: float, highest_cup_c: float, grid_c: float = GRID_C) -> Belief:
    """Return the belief where nothing is known: every temperature within reach alike."""
    flash_c = _grid(lowest_cup_c, highest_cup_c, grid_c)
    return Belief(flash_c, np.full(flash_c.size, 1 / flash_c.size))


def _grid(lowest_cup_c: float, highest_cup_c: float, grid_c: float) -> Floats:
    if not (np.isfinite([lowest_cup_c, highest_cup_c]).all() and lowest_cup_c < highest_cup_c):
        raise InputError(
            "reach-unknown",
            f"From {lowest_cup_c:g} to {highest_cup_c:g} °C is no range to look in.",
            where="reach",
            fix="Give the lowest and highest cup temperature of the apparatus.",
        )
    places = round((highest_cup_c - lowest_cup_c) / grid_c) + 1
    if places > _MOST_PLACES:
        raise InputError(
            "reach-too-wide", "The range is too wide.", where="reach", fix="Give real limits."
        )
    # Half a step off the settable temperatures: no flash point lies exactly on one.
    return np.asarray(lowest_cup_c + grid_c * (np.arange(places, dtype=float) - 0.5))


def posterior_after(prior: Belief, observations: Iterable[Observed], model: Observing) -> Belief:
    """Return the belief after observations, by Bayes' rule on the grid.

    Sums of logarithms: a long series does not underflow. Raises InputError when the observations
    cannot all be true under a model without scatter and lapse.
    """
    with np.errstate(divide="ignore"):
        log = np.log(prior.chance)
        for one in observations:
            flash = model.flash_probability(one.cup_c, prior.flash_cup_c)
            log = log + np.log(flash if one.flashed else 1 - flash)
    top = log.max()
    if not np.isfinite(top):
        raise InputError(
            "observations-contradict",
            "No flash point fits all these observations.",
            where="observations",
            fix="Allow for scatter or a lapse, or repeat the determinations that contradict.",
        )
    chance = np.exp(log - top)
    return Belief(prior.flash_cup_c, chance / chance.sum())
