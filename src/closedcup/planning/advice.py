"""An advice: the next temperature, what is believed, what is still to come, and why.

Every temperature is what the cup shows.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from closedcup.planning.belief import Belief
from closedcup.planning.pace import Weights

Mode = Literal["method", "screening"]

SCREENING_WORDS: Final = (
    "Screening: no method prescribes this search, and its answer is never a result of a method."
)

_FAR_OFF: Final = 0.01  # an estimate whose interval keeps less than this was wrong


@dataclass(frozen=True, slots=True)
class Advice:
    """Where to test next, or that the search is over (cup_c None), and what is believed.

    mode "method": the temperature is the one that the method prescribes. mode "screening": the
    answer is never a result of a method. specimens_left, minutes_left: expected until the end.
    between_cup_c: highest no flash and lowest flash, once the search is over.
    """

    mode: Mode
    belief: Belief
    why: tuple[str, ...]
    cup_c: float | None = None
    flash_chance: float | None = None
    overshoot_chance: float | None = None
    specimens_left: float = 0.0
    minutes_left: float = 0.0
    between_cup_c: tuple[float, float] | None = None
    warnings: tuple[str, ...] = ()


def chances_in_words(
    belief: Belief, cup_c: float, flash_chance: float, weights: Weights
) -> tuple[float, str]:
    """Return the chance of an overshoot at a temperature, and all chances in a sentence."""
    low_c, high_c = belief.interval_cup_c()
    over = belief.chance_between(-np.inf, cup_c - weights.overshoot_c)
    return over, (
        f"Believed: {low_c:.1f} to {high_c:.1f} °C in the cup (95 %). The chance of a flash at "
        f"{cup_c:g} °C is {flash_chance:.0%}; that the cup stands more than "
        f"{weights.overshoot_c:g} °C above the flash point, {over:.0%}."
    )


def warnings_for(
    prior: Belief, belief: Belief, expected: float, specimens_left: int | None
) -> tuple[str, ...]:
    """Say when the sample runs out, and when the flash point lies where nobody expected it."""
    found: list[str] = []
    if specimens_left is not None and specimens_left < 1:
        found.append("No specimen is left: take more sample before anything is set.")
    elif specimens_left is not None and specimens_left < np.ceil(expected):
        found.append(
            f"About {expected:.1f} specimens are still needed and {specimens_left} left: take more "
            "sample, or stop here and report what is known."
        )
    low_c, high_c = prior.interval_cup_c()
    if belief.chance_between(low_c, high_c) < _FAR_OFF:
        found.append(
            f"The flash point lies outside {low_c:.1f} to {high_c:.1f} °C (cup), where it was "
            "expected: check the sample, its label and the unit of the estimate. Nothing observed "
            "is lost."
        )
    return tuple(found)
