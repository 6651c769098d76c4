"""Searches that no method prescribes, for screening only: bisection, and by information per cost.

What they find is never a result of a method. The upward search as written protects against a false
bracket from above; a free search does so only by repeating what does not fit.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from closedcup.planning.belief import Belief
from closedcup.planning.observing import Floats, Observing
from closedcup.planning.pace import Pace, Weights
from closedcup.planning.searching import NOTHING, Ints, Ladder, Progress, Rule

# A bracket is believed when what is known leaves it this chance of being wrong (judgement).
_WRONG: Final = 0.015

# A flash point within 2 scatters of a step's ends cannot be told from one inside it.
_BLUR: Final = 2.0

_LEAST_CHANCE: Final = 1e-5  # steps less likely than this are not looked at
_LEAST_BITS: Final = 1e-6  # a temperature that tells nothing is never tested


def bisection(ladder: Ladder, low: int, high: int, step: int) -> Rule:
    """Return the rule that halves the range between what is known, or assumed, at both ends.

    low and high: places taken as no flash and flash until the search runs into one of them; then
    it goes on beyond by half the range at a time. step: the width, in places, at which it ends.
    """
    jump = max((high - low) // 2, step)
    top = ladder.places - 1

    def rule(progress: Progress) -> Ints:
        flash, dark = progress.lowest_flash, progress.highest_no_flash
        lit, unlit = flash != NOTHING, dark != NOTHING
        upper = np.where(lit, flash, np.maximum(high, np.where(unlit, dark + jump, high)))
        lower = np.where(unlit, dark, np.minimum(low, np.where(lit, flash - jump, low)))
        middle = lower + np.maximum((upper - lower) // (2 * step), 1) * step
        wide = upper - lower > step
        due = np.where(wide, middle, np.where(lit, lower, upper))
        due = np.clip(due, 0, top)
        ended = lit & unlit & (flash - dark <= step)
        at_end = (lit & (flash <= 0)) | (unlit & (dark >= top))
        progress.reported = np.where(ended, flash, NOTHING)
        return np.asarray(np.where(ended | at_end, NOTHING, due), dtype=np.int64)

    return rule


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """What testing each place of a ladder next would bring; rows are samples."""

    flash_chance: Floats
    bits: Floats
    overshoot_chance: Floats
    minutes: Floats
    bits_per_min: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Closing:
    """Searches near their end; places count from the first that the search considers.

    place: the upper end of the likeliest step; missing: the end of it that has not been seen,
    NOTHING where the step is not known yet; ended: known, and seen at both ends.
    """

    place: Ints
    missing: Ints
    ended: npt.NDArray[np.bool_]


class Screening:
    """The free search: test where a specimen tells most for what it costs, by the belief so far.

    Bits are the information that one observation is expected to give about the flash point; the
    cost is its minutes, the weight of a specimen and the chance of an overshoot. When the flash
    point lies in one step, within two scatters, with a chance of 98.5 % or more, what is left is to
    see a flash at its upper and no flash at its lower end; the search ends when both were seen.
    """

    def __init__(  # noqa: PLR0913 - what is believed, searched and weighed
        self,
        prior: Belief,
        ladder: Ladder,
        model: Observing,
        *,
        step: int,
        pace: Pace,
        weights: Weights,
    ) -> None:
        near, places = _worth_looking(prior, ladder, step)
        self.prior = np.asarray(prior.chance[near] / prior.chance[near].sum())
        self.flash_cup_c = prior.flash_cup_c[near]
        self.first, self.count = int(places[0]), len(places)
        self.ladder, self.step, self.pace, self.weights = ladder, step, pace, weights
        self.cup_c = ladder.cup_c(places)
        self.flash = model.flash_probability(self.cup_c[:, None], self.flash_cup_c)
        self._uncertainty = _bits(self.flash)
        over_c = self.cup_c[:, None] - self.flash_cup_c
        self._overshoots = np.asarray(over_c > weights.overshoot_c, dtype=float)
        blur_c = _BLUR * model.scatter_c
        low_c = self.cup_c[:, None] - ladder.spacing_c * step - blur_c
        self._right = np.asarray(
            (self.flash_cup_c > low_c) & (self.flash_cup_c <= self.cup_c[:, None] + blur_c),
            dtype=float,
        )
        self._logs: tuple[Floats, Floats, Floats] | None = None

    def __call__(self, progress: Progress) -> Ints:
        """Return the next place of every sample (the rule of `searching.search`)."""
        due = np.full(len(progress.samples), NOTHING)
        going = np.flatnonzero(progress.reported == NOTHING)
        if len(going):
            due[going] = self.decide(progress, self.posterior(progress, going), going)
        return due

    def decide(self, progress: Progress, chance: Floats, who: Ints) -> Ints:
        """Return the next places of some samples, given the chances of their flash points."""
        close = self.close(progress, chance, who)
        progress.reported[who[close.ended]] = self.first + close.place[close.ended]
        due = np.where(
            close.missing == NOTHING,
            np.argmax(self.scores(chance, progress.place[who]).bits_per_min, axis=1),
            close.missing,
        )
        return np.asarray(np.where(close.ended, NOTHING, self.first + due), dtype=np.int64)

    def posterior(self, progress: Progress, who: Ints) -> Floats:
        """Return the chances of the flash point for some samples; rows sum to 1."""
        if self._logs is None:
            with np.errstate(divide="ignore"):
                self._logs = np.log(self.prior), np.log(self.flash), np.log(1 - self.flash)
        log_prior, log_flash, log_dark = self._logs
        seen = slice(self.first, self.first + self.count)
        flashes = progress.flashes[who, seen].astype(float)
        dark = progress.no_flashes[who, seen].astype(float)
        log = log_prior + _weighed(flashes, log_flash) + _weighed(dark, log_dark)
        chance = np.exp(log - log.max(axis=1, keepdims=True))
        return np.asarray(chance / chance.sum(axis=1, keepdims=True))

    def close(self, progress: Progress, chance: Floats, who: Ints) -> Closing:
        """Return which searches know their step, and what they still have to see of it.

        Among the steps that are likely enough, the one whose ends take the fewest specimens to see.
        """
        seen, step = slice(self.first, self.first + self.count), self.step
        flash = np.maximum(chance @ self.flash.T, _LEAST_CHANCE)
        dark = np.maximum(1 - flash, _LEAST_CHANCE)
        for_flash = np.where(progress.flashes[who, seen] > 0, 0.0, 1 / flash)
        for_dark = np.full_like(for_flash, np.inf)
        unlit = progress.no_flashes[who, seen][:, :-step] > 0
        for_dark[:, step:] = np.where(unlit, 0.0, 1 / dark[:, :-step])
        likely = chance @ self._right.T >= 1 - _WRONG
        place = np.argmin(np.where(likely, for_flash + for_dark, np.inf), axis=1)
        row = np.arange(len(who))
        known = likely[row, place]
        to_see_dark = for_dark[row, place] > 0
        ended = known & ~to_see_dark & (for_flash[row, place] == 0)
        missing = np.where(to_see_dark, place - step, place)
        return Closing(place, np.where(known & ~ended, missing, NOTHING), ended)

    def scores(self, chance: Floats, now: Ints) -> Scores:
        """Return what each place would bring; now: where the cups stand, NOTHING at the start."""
        flash = chance @ self.flash.T
        bits = np.maximum(_bits(flash) - chance @ self._uncertainty.T, 0.0)
        over = chance @ self._overshoots.T
        first = (now == NOTHING)[:, None]
        now_c = np.where(first, self.pace.at_cup_c, self.ladder.cup_c(now)[:, None])
        minutes = self.pace.specimen_min(now_c, self.cup_c, first=first)
        cost = minutes + self.weights.specimen_min + self.weights.overshoot_min * over
        return Scores(flash, bits, over, minutes, (bits + _LEAST_BITS * flash) / cost)


def _worth_looking(prior: Belief, ladder: Ladder, step: int) -> tuple[npt.NDArray[np.bool_], Ints]:
    """Return which flash points and which places of the ladder a search need consider."""
    cumulated = np.cumsum(prior.chance)
    near = (cumulated > _LEAST_CHANCE) & (cumulated < 1 - _LEAST_CHANCE)
    low_c, high_c = prior.flash_cup_c[near][[0, -1]]
    first = max(ladder.place(low_c) - 2 * step, 0)
    last = min(ladder.place(high_c) + 2 * step, ladder.places - 1)
    return near, np.arange(first, last + 1)


def _weighed(counts: Floats, logs: Floats) -> Floats:
    """Return counts @ logs with 0 · -∞ = 0."""
    impossible = np.isneginf(logs)
    total = counts @ np.where(impossible, 0.0, logs)
    if impossible.any():
        total[(counts @ impossible.astype(float)) > 0] = -1e9
    return np.asarray(total)


def _bits(chance: Floats) -> Floats:
    """Return the entropy of yes or no in bits."""
    from scipy.special import entr  # noqa: PLC0415 - loaded when a search is planned

    return np.asarray((entr(chance) + entr(1 - chance)) / np.log(2), dtype=float)
