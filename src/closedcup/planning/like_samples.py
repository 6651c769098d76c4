"""What earlier results on like samples say of the next one."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from closedcup.errors import InputError
from closedcup.metrology.quantiles import student_quantile
from closedcup.planning.belief import Belief, Interval, prior_from_interval

FEW_HALF_WIDTH_C: Final = 5.0
"""How far the next result of a source lies from its few earlier ones (a judgement: products of one
source usually stay within it)."""

_FEW: Final = 5  # below this many results their spread is not relied on (a judgement)

# The share of deliveries that are something else than the earlier ones (a judgement).
_OTHER: Final = 0.1


def interval_from_history(values_c: Sequence[float], *, at_least_c: float = 1.0) -> Interval:
    """Return the interval in which the next result of a source is expected, 95 %.

    Fewer than five results: 5 °C beyond the lowest and the highest. More: Student's prediction
    interval around their mean (s √(1 + 1/n)), at_least_c to either side. One scale in, the same
    out. Raises InputError without a result.
    """
    values = np.asarray(values_c, dtype=float)
    if not values.size:
        raise InputError("history-empty", "There is no earlier result.", where="history")
    mean = float(values.mean())
    if values.size < _FEW:
        return Interval(
            mean, float(values.min()) - FEW_HALF_WIDTH_C, float(values.max()) + FEW_HALF_WIDTH_C
        )
    spread = float(values.std(ddof=1)) * (1 + 1 / values.size) ** 0.5
    half_c = max(student_quantile(0.975, values.size - 1) * spread, at_least_c)
    return Interval(mean, mean - half_c, mean + half_c)


def with_history(prior: Belief, history: Interval) -> Belief:
    """Return a belief to which the earlier results on like samples are added.

    One delivery in ten counts as something else, of which the prior alone speaks; more, where the
    history and the prior contradict each other. So a history never rules out what an estimate says.
    """
    step_c = float(prior.flash_cup_c[1] - prior.flash_cup_c[0])
    likely = prior_from_interval(
        history,
        lowest_cup_c=float(prior.flash_cup_c[0]) + step_c / 2,
        highest_cup_c=float(prior.flash_cup_c[-1]) + step_c / 2,
        grid_c=step_c,
    )
    alike = prior.chance * likely.chance
    weight = (1 - _OTHER) * float(alike.sum())
    other_weight = _OTHER * float(prior.chance @ prior.chance)
    chance = (1 - _OTHER) * alike + other_weight * prior.chance
    return Belief(prior.flash_cup_c, chance / (weight + other_weight))
