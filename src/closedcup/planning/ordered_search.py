"""What no search by yes or no can beat: entropy, and the best ordered search."""

import numpy as np
import numpy.typing as npt


def entropy_bits(chances: npt.ArrayLike) -> float:
    """Return the entropy of chances or counts (one dimension, not negative) in bits.

    A search that is told flash or no flash, n times on average, tells at most n bits: the mean
    number of observations is never below the entropy of the answers it gives (Shannon's noiseless
    coding theorem, memory).
    """
    weights = np.asarray(chances, dtype=float)
    weights = weights[weights > 0] / weights.sum()
    return float(-(weights * np.log2(weights)).sum())


def best_ordered_search(chances: npt.ArrayLike) -> float:
    """Return the least mean number of observations that tells ordered steps apart.

    Each observation says whether the answer lies above or below a boundary; chances or counts of
    the steps, lowest first. Dynamic programming over all runs of neighbouring steps (the optimum
    alphabetic tree of Gilbert and Moore 1959, memory). No search that is never misled, and that
    ends with one step, has a lower mean.
    """
    weights = np.asarray(chances, dtype=float)
    weights = weights / weights.sum()
    n = len(weights)
    cumulated = np.concatenate([[0.0], np.cumsum(weights)])
    cost = np.zeros((n, n))
    for longer in range(1, n):
        low = np.arange(n - longer)
        split = np.arange(longer)
        below = cost[low[:, None], low[:, None] + split]
        above = cost[low[:, None] + split + 1, (low + longer)[:, None]]
        cost[low, low + longer] = (below + above).min(axis=1) + (
            cumulated[low + longer + 1] - cumulated[low]
        )
    return float(cost[0, n - 1])
