"""Correlated inputs of a budget: a checked matrix, the groups it binds together, joint draws."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError, Refused
from closedcup.metrology.inputs import Input

Floats = NDArray[np.float64]


def checked_correlation(correlation: ArrayLike | None, size: int) -> Floats:
    """Return a matrix of correlations, the identity for None.

    Raises InputError for one that is not symmetric with 1 on the diagonal, or that no random
    quantities can have.
    """
    if correlation is None:
        return np.eye(size)
    matrix = np.asarray(correlation, dtype=np.float64)
    fits = matrix.shape == (size, size) and np.allclose(matrix, matrix.T)
    if not fits or not np.allclose(np.diag(matrix), 1) or np.linalg.eigvalsh(matrix)[0] < -1e-9:
        raise InputError(
            "correlation",
            "The correlations of the inputs contradict each other.",
            where="correlation",
            fix="Give a symmetric matrix with 1 on the diagonal.",
        )
    return matrix


def bound_groups(matrix: Floats) -> list[list[int]]:
    """Return the places of inputs that correlations bind together, singles included."""
    groups: list[list[int]] = []
    left = set(range(len(matrix)))
    while left:
        group, edge = set(), {left.pop()}
        while edge:
            place = edge.pop()
            group.add(place)
            bound = {int(other) for other in np.flatnonzero(matrix[place]) if other in left}
            left -= bound
            edge |= bound
        groups.append(sorted(group))
    return sorted(groups)


def group_freedom(inputs: Sequence[Input], group: Sequence[int]) -> float:
    """Return the degrees of freedom that bound inputs share.

    Raises Refused where they differ: Welch and Satterthwaite combine independent quantities, so
    bound ones count as one (GUM G.4.1), which their common observations give.
    """
    freedoms = {inputs[place].degrees_of_freedom for place in group}
    if len(freedoms) > 1:
        raise Refused(
            "degrees-of-freedom",
            f"{_named(inputs, group)} are correlated, with different degrees of freedom.",
            where="correlation",
            fix="Give those of the observations that they share, or none.",
        )
    return freedoms.pop()


def draw_bound(
    inputs: Sequence[Input],
    group: Sequence[int],
    matrix: Floats,
    generator: np.random.Generator,
    count: int,
) -> Floats:
    """Draw bound inputs together, shape (group, count): normal, or t with shared freedom.

    Raises Refused for another distribution: a correlation does not say how such inputs go
    together (JCGM 101, 6.4.8 draws from a joint normal).
    """
    odd = [inputs[place].name for place in group if inputs[place].distribution != "normal"]
    if odd:
        raise Refused(
            "correlation-not-normal",
            f"{', '.join(odd)}: a correlation with a distribution that is not normal says too "
            "little to draw from.",
            where="correlation",
            fix="Make what they have in common an input of its own, and write it into the model.",
        )
    freedom = group_freedom(inputs, group)
    values, vectors = np.linalg.eigh(matrix[np.ix_(group, group)])
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    drawn = root @ generator.standard_normal((len(group), count))
    if np.isfinite(freedom):
        drawn = drawn / np.sqrt(generator.chisquare(freedom, count) / freedom)
    u = np.array([inputs[place].uncertainty for place in group])
    at = np.array([inputs[place].estimate for place in group])
    return np.asarray(at[:, None] + u[:, None] * drawn)


def _named(inputs: Sequence[Input], group: Sequence[int]) -> str:
    return " and ".join(inputs[place].name for place in group)
