"""Many searches side by side: what was tested, what it cost, by one rule for where to test next.

Temperatures are places on a ladder of even steps; every array has one entry for each sample.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from closedcup.planning.observing import Floats
from closedcup.planning.pace import Pace

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

NOTHING: Final = -1  # no place: nothing seen yet, nothing more to test, nothing to report

# Answers (samples, places, how often tested there before) with flash or no flash.
Answers = Callable[[Ints, Ints, Ints], Bools]


@dataclass(frozen=True, slots=True)
class Ladder:
    """The cup temperatures that a search may use: lowest_cup_c + place · spacing_c."""

    lowest_cup_c: float
    spacing_c: float
    places: int

    def cup_c(self, place: npt.ArrayLike) -> Floats:
        """Return the cup temperature of places."""
        return self.lowest_cup_c + self.spacing_c * np.asarray(place, dtype=float)

    def place(self, cup_c: float) -> int:
        """Return the place nearest to a cup temperature, within the ladder."""
        nearest = round((cup_c - self.lowest_cup_c) / self.spacing_c)
        return min(max(nearest, 0), self.places - 1)

    def steps(self, difference_c: float) -> int:
        """Return a temperature difference in places."""
        return round(difference_c / self.spacing_c)


class Progress:
    """How far every search has come; grows by `record`."""

    def __init__(self, ladder: Ladder, samples: int) -> None:
        self.ladder = ladder
        self.samples = np.arange(samples)
        self.lowest_flash: Ints = np.full(samples, NOTHING)
        self.highest_no_flash: Ints = np.full(samples, NOTHING)
        self.flashes = np.zeros((samples, ladder.places), dtype=np.int8)
        self.no_flashes = np.zeros((samples, ladder.places), dtype=np.int8)
        self.place: Ints = np.full(samples, NOTHING)
        self.specimens = np.zeros(samples, dtype=np.int64)
        self.minutes = np.zeros(samples)
        self.overshoots = np.zeros(samples, dtype=np.int64)
        self.reported: Ints = np.full(samples, NOTHING)

    def record(self, who: Ints, places: Ints, flashed: Bools, minutes: Floats) -> None:
        """Add one determination for each of some samples."""
        self.flashes[who, places] += flashed
        self.no_flashes[who, places] += ~flashed
        self.specimens[who] += 1
        self.minutes[who] += minutes
        self.place[who] = places
        lit, at_lit = who[flashed], places[flashed]
        known = self.lowest_flash[lit]
        self.lowest_flash[lit] = np.where(known == NOTHING, at_lit, np.minimum(known, at_lit))
        unlit, at_unlit = who[~flashed], places[~flashed]
        self.highest_no_flash[unlit] = np.maximum(self.highest_no_flash[unlit], at_unlit)


# Returns the next place for every sample, NOTHING where its search is over; sets `reported`.
Rule = Callable[[Progress], Ints]


def search(  # noqa: PLR0913 - what is searched, by which rule, at what pace
    ladder: Ladder,
    rule: Rule,
    answers: Answers,
    *,
    flash_cup_c: Floats,
    pace: Pace,
    overshoot_c: float,
    at_most: int = 400,
    begun: Progress | None = None,
) -> Progress:
    """Run every search to its end; one pass of the loop is one specimen of each.

    flash_cup_c: the true flash points, which count overshoots and are not shown to the rule.
    at_most: specimens of one search; one that would take more reports nothing. begun: searches to
    go on with instead of new ones.
    """
    progress = Progress(ladder, len(flash_cup_c)) if begun is None else begun
    for _ in range(at_most):
        due = rule(progress)
        who = np.flatnonzero(due != NOTHING)
        if not len(who):
            break
        places = due[who]
        before = progress.flashes[who, places] + progress.no_flashes[who, places]
        flashed = answers(who, places, before.astype(np.int64))
        first = progress.place[who] == NOTHING
        cup_c = ladder.cup_c(places)
        now_c = np.where(first, pace.at_cup_c, ladder.cup_c(progress.place[who]))
        minutes = pace.specimen_min(now_c, cup_c, first=first)
        progress.overshoots[who] += cup_c - flash_cup_c[who] > overshoot_c
        progress.record(who, places, flashed, minutes)
    return progress


def exact_answers(ladder: Ladder, flash_cup_c: Floats) -> Answers:
    """Return the answers of samples that flash from their flash point on, without scatter."""

    def answers(samples: Ints, places: Ints, before: Ints) -> Bools:
        del before
        return np.asarray(ladder.cup_c(places) >= flash_cup_c[samples], dtype=np.bool_)

    return answers
