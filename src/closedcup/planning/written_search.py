"""The finite search as the method writes it, for many samples at once, and what it costs.

The rule is that of `methods.search.next_temperature`, which runs one test at the bench; a test
holds the two equal.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.methods import Method
from closedcup.methods.search import Steps
from closedcup.planning.belief import Belief
from closedcup.planning.observing import Floats
from closedcup.planning.pace import Pace, Weights
from closedcup.planning.searching import (
    NOTHING,
    Ints,
    Ladder,
    Progress,
    Rule,
    exact_answers,
    search,
)

_LEAST_CHANCE: Final = 1e-4  # less likely steps of a belief are left out of a mean


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """What searches from each of several starts cost on average; one entry for each start."""

    start_cup_c: Floats
    specimens: Floats
    minutes: Floats
    overshoots: Floats
    cost_min: Floats


def steps_of_method(method: Method, step_c: float) -> Steps:
    """Return the steps of a method's finite search for a last step of step_c."""
    fine_c = method.number("fine_step").value
    return Steps(
        coarse_c=method.number("coarse_step").value,
        fine_c=fine_c,
        half_c=method.number("half_step").value if step_c < fine_c else None,
        restart_drop_c=method.number("restart_drop").value,
    )


def as_written(ladder: Ladder, steps: Steps, start: Ints) -> Rule:
    """Return the rule of the method: 5 °C, then 1 °C upward, then optionally half a degree below.

    start: the first place of every sample. The ends of the ladder are the ends of the range.
    """
    coarse, fine = ladder.steps(steps.coarse_c), ladder.steps(steps.fine_c)
    half = None if steps.half_c is None else ladder.steps(steps.half_c)
    top = ladder.places - 1

    def rule(progress: Progress) -> Ints:
        flash, dark = progress.lowest_flash, progress.highest_no_flash
        lit, unlit = flash != NOTHING, dark != NOTHING
        gap = flash - dark
        due = np.where(
            ~lit & ~unlit,
            start,
            np.where(
                ~lit,
                np.where(dark >= top, NOTHING, np.minimum(dark + coarse, top)),
                np.where(flash <= 0, NOTHING, np.maximum(flash - coarse, 0)),
            ),
        )
        last = NOTHING if half is None else np.where(gap > half, flash - half, NOTHING)
        between = np.where(gap > coarse, dark + coarse, np.where(gap > fine, dark + fine, last))
        due = np.where(lit & unlit, between, due)
        progress.reported = np.where((due == NOTHING) & lit & unlit, flash, NOTHING)
        return due

    return rule


def expected_costs(  # noqa: PLR0913 - what is searched, how, at what pace
    belief: Belief,
    ladder: Ladder,
    steps: Steps,
    starts: Ints,
    *,
    pace: Pace,
    weights: Weights,
) -> Expected:
    """Return what the search as written costs from each start, on average over a belief.

    Without scatter, which hardly moves these means. Exact sums over the steps of the ladder.
    """
    flash_c, chance = likely_steps(belief, ladder)
    every_flash_c = np.tile(flash_c, len(starts))
    made = search(
        ladder,
        as_written(ladder, steps, np.repeat(starts, len(flash_c))),
        exact_answers(ladder, every_flash_c),
        flash_cup_c=every_flash_c,
        pace=pace,
        overshoot_c=weights.overshoot_c,
    )
    shape = (len(starts), len(flash_c))
    specimens, minutes, overshoots = (
        counted.reshape(shape) @ chance
        for counted in (made.specimens, made.minutes, made.overshoots)
    )
    cost_min = minutes + weights.specimen_min * specimens + weights.overshoot_min * overshoots
    return Expected(ladder.cup_c(starts), specimens, minutes, overshoots, cost_min)


def likely_steps(belief: Belief, ladder: Ladder) -> tuple[Floats, Floats]:
    """Return a flash point within each step of a ladder that is likely, and the chances (sum 1).

    Steps below one in ten thousand are left out: what an estimate that is worth nothing leaves
    there changes no decision and would take most of the time.
    """
    flash_c, chance = ladder_chances(belief, ladder)
    likely = chance > _LEAST_CHANCE
    return flash_c[likely], chance[likely] / chance[likely].sum()


def ladder_chances(belief: Belief, ladder: Ladder) -> tuple[Floats, Floats]:
    """Return a flash point within each step of a ladder, and the chances of the steps.

    What lies below or above the ladder counts with its ends.
    """
    cell = np.ceil(np.round((belief.flash_cup_c - ladder.lowest_cup_c) / ladder.spacing_c, 6))
    cell = np.clip(cell, 0, ladder.places).astype(int)
    counted = np.bincount(cell, weights=belief.chance, minlength=ladder.places + 1)
    chance = np.asarray(counted, dtype=float)
    return ladder.cup_c(np.arange(ladder.places + 1)) - ladder.spacing_c / 2, chance
