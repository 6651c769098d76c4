"""Mean, standard deviation, one-way analysis of variance and regression without lost digits.

A measured value is a decimal; its binary image is not. 10000000.2 less 10000000.1 is 0.1 in
decimals, and in binary only to nine digits. So differences are taken in decimals before anything
is squared, and regressions are solved in exact fractions, which no condition of the problem can
harm. Meant for a laboratory's series: up to some ten thousand values, some hundred points of a
regression.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError, Refused
from closedcup.metrology.series import checked

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Univariate:
    """Number, mean, standard deviation (n - 1) and correlation of neighbours."""

    n: int
    mean: float
    deviation: float
    autocorrelation: float


@dataclass(frozen=True, slots=True)
class OneWay:
    """One-way analysis of variance: F = ms_between/ms_within."""

    ss_between: float
    ss_within: float
    df_between: int
    df_within: int

    @property
    def f(self) -> float:
        """Return the ratio of the mean squares."""
        return (self.ss_between / self.df_between) / (self.ss_within / self.df_within)

    @property
    def residual_deviation(self) -> float:
        """Return the standard deviation within groups."""
        return sqrt(self.ss_within / self.df_within)


@dataclass(frozen=True, slots=True)
class Regression:
    """Coefficients in the order of the columns (the constant first where there is one)."""

    coefficients: Floats
    uncertainties: Floats
    residual_deviation: float
    degrees_of_freedom: int


def univariate(values: ArrayLike) -> Univariate:
    """Summarise a series of at least 3 values with a spread."""
    series = checked(values, at_least=3, purpose="A summary")
    first, away = _offsets(series)
    mean_away = float(away.mean())
    centred = away - mean_away
    square = float(centred @ centred)
    return Univariate(
        n=series.size,
        mean=float(first + Decimal(repr(mean_away))),
        deviation=sqrt(square / (series.size - 1)),
        autocorrelation=float(centred[1:] @ centred[:-1]) / square,
    )


def neighbour_correlation(values: ArrayLike) -> float:
    """Return the correlation of neighbours, in plain floats: for a series of any length.

    At least 3 values with a spread.
    """
    series = checked(values, at_least=3, purpose="A correlation of neighbours")
    centred = series - series[0]
    centred = centred - centred.mean()
    return float(centred[1:] @ centred[:-1]) / float(centred @ centred)


def _offsets(series: Floats) -> tuple[Decimal, Floats]:
    """Return the first value and all differences from it, taken in decimals."""
    decimals = [Decimal(repr(value)) for value in series.tolist()]
    first = decimals[0]
    return first, np.array([float(value - first) for value in decimals])


def one_way(groups: Sequence[ArrayLike]) -> OneWay:
    """Analyse groups of results; at least 2 groups, more results than groups, a spread within.

    Raises Refused for fewer.
    """
    sizes = np.array([np.size(group) for group in groups])
    if sizes.size < 2 or sizes.min() < 1 or sizes.sum() <= sizes.size:
        raise Refused(
            "too-few-values",
            "An analysis of variance needs 2 groups and repeats in one of them.",
            where="groups",
        )
    series = checked(
        np.concatenate([np.ravel(group) for group in groups]),
        at_least=3,
        purpose="An analysis of variance",
    )
    _, away = _offsets(series)
    parts = np.split(away, np.cumsum(sizes)[:-1])
    means = np.array([part.mean() for part in parts])
    within = sum(
        float((part - mean) @ (part - mean)) for part, mean in zip(parts, means, strict=True)
    )
    if within == 0:
        raise Refused("no-spread", "The groups have no spread within.", where="groups")
    return OneWay(
        ss_between=float(sizes @ (means - away.mean()) ** 2),
        ss_within=within,
        df_between=sizes.size - 1,
        df_within=int(sizes.sum()) - sizes.size,
    )


def polynomial(x: ArrayLike, y: ArrayLike, degree: int) -> Regression:
    """Fit y = b₀ + b₁ x + … by least squares."""
    powers = [[_exact(value) ** power for power in range(degree + 1)] for value in np.ravel(x)]
    return _solved(powers, y)


def regress(columns: Sequence[ArrayLike], y: ArrayLike, *, constant: bool = True) -> Regression:
    """Fit y to columns of the same length, with a constant unless told otherwise.

    Raises InputError for unequal lengths, Refused for fewer points than coefficients or columns
    of which one follows from the others.
    """
    exact = [[_exact(value) for value in np.ravel(column)] for column in columns]
    if len({len(column) for column in exact} | {int(np.size(y))}) != 1:
        raise InputError("points-unequal", "Columns and y differ in length.", where="columns")
    rows = [list(row) for row in zip(*exact, strict=True)]
    if constant:
        rows = [[Fraction(1), *row] for row in rows]
    return _solved(rows, y)


def _exact(value: float) -> Fraction:
    return Fraction(repr(float(value)))


def _solved(rows: list[list[Fraction]], y: ArrayLike) -> Regression:
    """Solve the normal equations in fractions: exact, so their condition does not matter."""
    ys = [_exact(value) for value in checked(y, at_least=2, purpose="A regression", spread=False)]
    size, freedom = len(rows[0]), len(rows) - len(rows[0])
    if freedom < 1:
        raise Refused(
            "too-few-values",
            f"{len(rows)} points do not fix {size} coefficients and a scatter.",
            where="points",
        )
    columns = list(zip(*rows, strict=True))
    products = [[_dot(one, other) for other in columns] for one in columns]
    inverse = _inverse(products)
    with_y = [_dot(column, ys) for column in columns]
    coefficients = [_dot(row, with_y) for row in inverse]
    residuals = [value - _dot(row, coefficients) for row, value in zip(rows, ys, strict=True)]
    left = _dot(residuals, residuals)
    variance = left / freedom
    return Regression(
        coefficients=np.array([float(one) for one in coefficients]),
        uncertainties=np.array([sqrt(variance * inverse[at][at]) for at in range(size)]),
        residual_deviation=sqrt(variance),
        degrees_of_freedom=freedom,
    )


def _dot(one: Sequence[Fraction], other: Sequence[Fraction]) -> Fraction:
    return sum((a * b for a, b in zip(one, other, strict=True)), Fraction(0))


def _inverse(matrix: list[list[Fraction]]) -> list[list[Fraction]]:
    """Invert by elimination; Refused where a column follows from the others."""
    size = len(matrix)
    rows = [
        [*row, *(Fraction(int(at == other)) for other in range(size))]
        for at, row in enumerate(matrix)
    ]
    for at in range(size):
        pivot = next((row for row in range(at, size) if rows[row][at]), None)
        if pivot is None:
            raise Refused(
                "columns-dependent",
                "One column of the regression follows from the others.",
                where="columns",
                fix="Leave it out.",
            )
        rows[at], rows[pivot] = rows[pivot], rows[at]
        lead = rows[at][at]
        rows[at] = [value / lead for value in rows[at]]
        for other in range(size):
            factor = rows[other][at]
            if other != at and factor:
                rows[other] = [
                    value - factor * above
                    for value, above in zip(rows[other], rows[at], strict=True)
                ]
    return [row[size:] for row in rows]
