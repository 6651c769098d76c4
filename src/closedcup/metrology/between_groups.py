"""What differs between operators, days or apparatus beyond the scatter within each."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from closedcup.errors import Refused
from closedcup.metrology.summary import one_way


@dataclass(frozen=True, slots=True)
class BetweenGroups:
    """Standard deviations between groups (0 where none shows) and within them."""

    between: float
    within: float
    degrees_of_freedom: int
    groups: int


def between_groups(groups: Sequence[ArrayLike]) -> BetweenGroups:
    """Return √((MS_between - MS_within)/n̿), n̿ = (N - Σnᵢ²/N)/(p - 1), floored at 0.

    At least two groups, of two results each. ISO 5725-2 (memory). Raises Refused for fewer or for
    no spread.
    """
    sizes = np.array([np.size(group) for group in groups])
    if sizes.size < 2 or sizes.min() < 2:
        raise Refused(
            "too-few-values",
            "What differs between groups needs two groups of two results each.",
            where="groups",
            fix="Collect results of each first.",
        )
    found = one_way(groups)
    total = int(sizes.sum())
    usual = (total - float((sizes**2).sum()) / total) / (sizes.size - 1)
    within = found.ss_within / found.df_within
    excess = (found.ss_between / found.df_between - within) / usual
    return BetweenGroups(sqrt(max(excess, 0.0)), sqrt(within), sizes.size - 1, sizes.size)
