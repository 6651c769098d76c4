"""The next temperature and why: as the method prescribes it, or free, for screening.

Every temperature is what the cup shows.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from closedcup.errors import Refused
from closedcup.methods import Determination, State, determinations, instruction, outcome
from closedcup.methods.cup import CUP_RESOLUTION_C, SAME_C
from closedcup.planning.advice import SCREENING_WORDS, Advice, chances_in_words, warnings_for
from closedcup.planning.belief import Belief, Observed, posterior_after
from closedcup.planning.free_search import Screening
from closedcup.planning.observing import Observing
from closedcup.planning.ordered_search import entropy_bits
from closedcup.planning.pace import Pace, Weights
from closedcup.planning.searching import NOTHING, Ladder, Progress, exact_answers, search
from closedcup.planning.written_search import (
    as_written,
    ladder_chances,
    likely_steps,
    steps_of_method,
)

_UNLIKELY_STEP: Final = 1e-3  # steps less likely are looked at as a whole
_BLOCK: Final = 5  # steps of that kind taken together


def next_under_method(  # noqa: PLR0913 - the test, what is believed, at what cost
    state: State,
    prior: Belief,
    model: Observing,
    *,
    pace: Pace,
    weights: Weights,
    specimens_left: int | None = None,
) -> Advice:
    """Return what the method prescribes next, with what is believed and what is still to come.

    The temperature is the procedure's own; nothing here moves it. specimens_left: what the sample
    still gives, None when that is not on record. Raises Refused for anything but a finite
    equilibrium test.
    """
    if state.method.procedure != "equilibrium" or state.method.test != "finite":
        raise Refused(
            "nothing-to-plan",
            f"{state.method.name} is not searched step by step with fresh specimens.",
            where=state.method.id,
            fix="Follow the bench guide.",
        )
    made = [one for one in determinations(state) if one.status == "valid"]
    belief = posterior_after(prior, [Observed(one.cup_c, one.flashed) for one in made], model)
    over = outcome(state)
    if over is not None:
        ends = (over.highest_no_flash_cup_c, over.lowest_flash_cup_c)
        between = None if ends[0] is None or ends[1] is None else (ends[0], ends[1])
        off = warnings_for(prior, belief, 0.0, None)
        return Advice("method", belief, (over.text,), between_cup_c=between, warnings=off)
    due = instruction(state)
    specimens, minutes = _still_to_come(state, made, belief, due.cup_c, pace, weights)
    flash = _flash_chance(belief, due.cup_c, model)
    overshoot, chances = chances_in_words(belief, due.cup_c, flash, weights)
    return Advice(
        "method",
        belief,
        (due.why, f"Prescribed: {due.clause}.", chances),
        cup_c=due.cup_c,
        flash_chance=flash,
        overshoot_chance=overshoot,
        specimens_left=specimens,
        minutes_left=minutes,
        warnings=warnings_for(prior, belief, specimens, specimens_left),
    )


def next_free(  # noqa: PLR0913 - what is believed and seen, within which range, at what cost
    prior: Belief,
    observations: Sequence[Observed],
    model: Observing,
    *,
    lowest_cup_c: float,
    highest_cup_c: float,
    step_c: float,
    pace: Pace,
    weights: Weights,
    specimens_left: int | None = None,
) -> Advice:
    """Return where a fresh specimen tells most for its cost; screening, never a method's result.

    Temperatures are multiples of step_c within the range. Ends when a flash and a no flash one
    step below have been seen and the flash point lies between with a chance of 98.5 %.
    """
    ladder = _ladder(lowest_cup_c, highest_cup_c, step_c)
    belief = posterior_after(prior, observations, model)
    screening = Screening(
        _thinned(belief, ladder), ladder, model, step=1, pace=pace, weights=weights
    )
    progress = _progress(ladder, observations)
    due = int(screening.decide(progress, screening.prior[None, :], progress.samples)[0])
    cup_now = observations[-1].cup_c if observations else None
    if due == NOTHING:
        top_c = float(ladder.cup_c(progress.reported[0]))
        return Advice(
            "screening", belief, (SCREENING_WORDS,), between_cup_c=(top_c - step_c, top_c)
        )
    cup_c = float(ladder.cup_c(due))
    specimens = _least_left(belief, ladder)
    each_min = float(pace.specimen_min(cup_c, cup_c, first=False))
    now_c = pace.at_cup_c if cup_now is None else cup_now
    next_min = float(pace.specimen_min(now_c, cup_c, first=cup_now is None))
    flash = _flash_chance(belief, cup_c, model)
    overshoot, chances = chances_in_words(belief, cup_c, flash, weights)
    tells = f"At {cup_c:g} °C a specimen tells most for what it costs ({next_min:.1f} minutes)."
    return Advice(
        "screening",
        belief,
        (tells, chances, SCREENING_WORDS),
        cup_c=cup_c,
        flash_chance=flash,
        overshoot_chance=overshoot,
        specimens_left=specimens,
        minutes_left=next_min + (specimens - 1) * each_min,
        warnings=warnings_for(prior, belief, specimens, specimens_left),
    )


# --- what is still to come -----------------------------------------------------------------------


def _still_to_come(  # noqa: PLR0913, PLR0917 - the test, what is known of it, at what pace
    state: State,
    made: Sequence[Determination],
    belief: Belief,
    due_cup_c: float,
    pace: Pace,
    weights: Weights,
) -> tuple[float, float]:
    """Return specimens and minutes until the end, on average over the belief, without scatter."""
    steps = steps_of_method(state.method, state.step_c)
    low_c = max(state.reach.lowest_cup_c, float(belief.flash_cup_c[0]))
    high_c = min(state.reach.highest_cup_c, float(belief.flash_cup_c[-1]))
    ladder = _ladder(low_c, high_c, CUP_RESOLUTION_C)
    last_c = steps.half_c or steps.fine_c  # the steps of this search, through the temperature due
    below = int((due_cup_c - low_c) / last_c)
    cells = Ladder(due_cup_c - below * last_c, last_c, below + int((high_c - due_cup_c) / last_c))
    flash_c, chance = likely_steps(belief, cells)
    begun = Progress(ladder, len(flash_c))
    lit = [one.set_cup_c for one in made if one.flashed]
    dark = [
        one.set_cup_c for one in made if not one.flashed and one.set_cup_c < min(lit, default=1e9)
    ]
    if lit:
        begun.lowest_flash[:] = ladder.place(min(lit))
    if dark:
        begun.highest_no_flash[:] = ladder.place(max(dark))
    if made:
        begun.place[:] = ladder.place(made[-1].set_cup_c)
    begun = search(
        ladder,
        as_written(ladder, steps, np.full(len(flash_c), ladder.place(due_cup_c))),
        exact_answers(ladder, flash_c),
        flash_cup_c=flash_c,
        pace=pace,
        overshoot_c=weights.overshoot_c,
        begun=begun,
    )
    repeated = any(abs(one.set_cup_c - due_cup_c) < SAME_C for one in made)
    specimens = float(begun.specimens @ chance) + repeated
    return specimens, float(begun.minutes @ chance)


def _least_left(belief: Belief, ladder: Ladder) -> float:
    """Return the least mean number of specimens that ends a free search; at least 1."""
    return max(entropy_bits(ladder_chances(belief, ladder)[1]), 1.0)


def _flash_chance(belief: Belief, cup_c: float, model: Observing) -> float:
    return float(model.flash_probability(cup_c, belief.flash_cup_c) @ belief.chance)


def _ladder(lowest_cup_c: float, highest_cup_c: float, spacing_c: float) -> Ladder:
    """Return the multiples of a spacing within a range."""
    first = int(np.ceil(lowest_cup_c / spacing_c - SAME_C))
    last = int(np.floor(highest_cup_c / spacing_c + SAME_C))
    return Ladder(first * spacing_c, spacing_c, last - first + 1)


def _progress(ladder: Ladder, observations: Sequence[Observed]) -> Progress:
    """Return one search with the observations that were made on the ladder."""
    progress = Progress(ladder, 1)
    for one in observations:
        place = ladder.place(one.cup_c)
        if abs(float(ladder.cup_c(place)) - one.cup_c) < SAME_C:
            progress.record(
                progress.samples, np.array([place]), np.array([one.flashed]), np.zeros(1)
            )
    if observations:
        progress.place[:] = ladder.place(observations[-1].cup_c)
    return progress


def _thinned(belief: Belief, ladder: Ladder) -> Belief:
    """Return a belief with one flash point for every few unlikely steps: quicker, as good."""
    step = np.ceil(np.round((belief.flash_cup_c - ladder.lowest_cup_c) / ladder.spacing_c, 6))
    step = (step - step.min()).astype(int)
    fine = np.bincount(step, weights=belief.chance)[step] > _UNLIKELY_STEP
    chance, flash_c, block = belief.chance[~fine], belief.flash_cup_c[~fine], step[~fine] // _BLOCK
    members = np.maximum(np.bincount(block), 1)
    together = np.bincount(block, weights=chance)
    centre_c = np.bincount(block, weights=flash_c) / members
    some = together > 0
    flash_c = np.concatenate([belief.flash_cup_c[fine], centre_c[some]])
    chance = np.concatenate([belief.chance[fine], together[some]])
    order = np.argsort(flash_c)
    return Belief(flash_c[order], chance[order] / chance.sum())
