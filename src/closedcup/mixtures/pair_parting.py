"""Whether pairs of the liquids part on their own: what a split of a whole blend must rest on.

A pair parts where its activity falls as its amount grows, somewhere on its line. Pairs that are on
record as miscible do not count, whatever a model says of them (`miscibility`).
"""

from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.activity import ActivityModel
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.miscibility import known_miscible

Array = NDArray[np.float64]

# How finely a pair's own parting is looked for: in temperature, and along its line.
STEP_K: Final = 2.0
LINE: Final = np.linspace(0.01, 0.99, 50)


def parting_pairs(
    model: ActivityModel,
    liquids: Sequence[Liquid],
    x: Array,
    temperature_k: Array,
    *,
    enough: int = 1,
) -> NDArray[np.int_]:
    """Return how many pairs that are present part on their own, for each row, up to `enough`.

    `x` has the shape (rows, liquids). Temperatures are taken to the nearest kelvin or two: the
    question is coarse.
    """
    count = np.zeros(len(x), dtype=int)
    for i, j in combinations(range(len(liquids)), 2):
        rows = np.flatnonzero((x[:, i] > 0) & (x[:, j] > 0) & (count < enough))
        if len(rows) and not known_miscible(liquids[i], liquids[j]):
            steps = np.round(temperature_k[rows] / STEP_K).astype(int)
            asked, place = np.unique(steps, return_inverse=True)
            count[rows] += _pair_parts(model, len(liquids), (i, j), asked * STEP_K)[place]
    return count


def some_pair_parts(
    model: ActivityModel, liquids: Sequence[Liquid], x: Array, temperature_k: Array
) -> NDArray[np.bool_]:
    """Whether any pair that is not known to be miscible parts on its own, for each row."""
    result: NDArray[np.bool_] = parting_pairs(model, liquids, x, temperature_k) > 0
    return result


def _pair_parts(
    model: ActivityModel, size: int, pair: tuple[int, int], temperature_k: Array
) -> NDArray[np.bool_]:
    """Whether a pair parts on its own at each of these temperatures."""
    line = np.tile(LINE, len(temperature_k))
    x = np.zeros((len(line), size))
    x[:, pair[0]], x[:, pair[1]] = line, 1 - line
    ln_gamma = model.ln_gamma(x, np.repeat(temperature_k, len(LINE)))[:, pair[0]]
    ln_activity = (np.log(line) + ln_gamma).reshape(len(temperature_k), len(LINE))
    falls: NDArray[np.bool_] = np.diff(ln_activity, axis=1) < 0
    return np.asarray(falls.any(axis=1))
