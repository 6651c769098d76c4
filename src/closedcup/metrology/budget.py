"""The law of propagation of uncertainty (JCGM 100), with effective degrees of freedom."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, inf, isinf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import Refused
from closedcup.metrology.correlations import bound_groups, checked_correlation, group_freedom
from closedcup.metrology.inputs import Input, Model, estimates, uncertainties
from closedcup.metrology.quantiles import student_quantile

Floats = NDArray[np.float64]

_STEP = 1e-3  # of the standard uncertainty, for derivatives by differences


@dataclass(frozen=True, slots=True)
class Propagated:
    """The measurand by the law of propagation.

    `contributions` are cᵢ uᵢ with their sign, in the order of the inputs.
    """

    estimate: float
    uncertainty: float
    sensitivities: Floats
    contributions: Floats
    degrees_of_freedom: float

    def coverage_factor(self, coverage: float = 0.95) -> float:
        """Return k from Student's t at the effective degrees of freedom, cut to a whole number.

        Raises Refused below one degree of freedom.
        """
        if self.degrees_of_freedom < 1:
            raise Refused(
                "degrees-of-freedom",
                f"{self.degrees_of_freedom:.2f} effective degrees of freedom give no interval.",
                where="budget",
                fix="Repeat the measurement that dominates.",
            )
        whole = inf if isinf(self.degrees_of_freedom) else floor(self.degrees_of_freedom)
        return student_quantile(0.5 + coverage / 2, whole)

    def expanded(self, coverage: float = 0.95) -> float:
        """Return U = k u."""
        return self.coverage_factor(coverage) * self.uncertainty

    @property
    def shares(self) -> Floats:
        """Return each input's share of the variance (correlations left out)."""
        squares = self.contributions**2
        return squares / squares.sum() if squares.sum() else squares


def propagate(
    model: Model, inputs: Sequence[Input], *, correlation: ArrayLike | None = None
) -> Propagated:
    """Propagate standard uncertainties through a model by its first derivatives.

    correlation: shape (inputs, inputs), the identity unless given. Effective degrees of freedom
    by Welch and Satterthwaite, correlated inputs as one (infinite where all are). Raises
    InputError for no inputs or a matrix that is no correlation, Refused where correlated inputs
    have different degrees of freedom.
    """
    at = estimates(inputs)
    c = sensitivities(model, inputs)
    parts = c * uncertainties(inputs)
    matrix = checked_correlation(correlation, len(inputs))
    u = sqrt(max(float(parts @ matrix @ parts), 0.0))
    rest = 0.0
    for group in bound_groups(matrix):
        variance = float(parts[group] @ matrix[np.ix_(group, group)] @ parts[group])
        rest += variance**2 / group_freedom(inputs, group)
    return Propagated(
        estimate=float(model(at)),
        uncertainty=u,
        sensitivities=c,
        contributions=parts,
        degrees_of_freedom=u**4 / rest if rest > 0 else inf,
    )


def sensitivities(model: Model, inputs: Sequence[Input]) -> Floats:
    """Return ∂f/∂xᵢ at the estimates, by central differences of a thousandth of u."""
    at = estimates(inputs)
    # An input without uncertainty contributes nothing; its derivative is not asked for.
    steps = np.where(uncertainties(inputs) > 0, uncertainties(inputs) * _STEP, 1.0)
    moved = np.diag(steps)
    up, down = model(at[:, None] + moved), model(at[:, None] - moved)
    return np.where(uncertainties(inputs) > 0, (up - down) / (2 * steps), 0.0)


def output_covariance(
    models: Sequence[Model], inputs: Sequence[Input], *, correlation: ArrayLike | None = None
) -> Floats:
    """Return the covariance matrix of several measurands of the same inputs (GUM H.2)."""
    scaled = np.array([sensitivities(model, inputs) for model in models]) * uncertainties(inputs)
    return np.asarray(scaled @ checked_correlation(correlation, len(inputs)) @ scaled.T)


def second_order_uncertainty(model: Model, inputs: Sequence[Input]) -> float:
    """Return u with the next terms of the series (GUM 5.1.2, note), for independent inputs.

    Adds Σᵢⱼ (½ fᵢⱼ² + fᵢ fᵢⱼⱼ) uᵢ² uⱼ²; worth it where a first derivative is near zero.
    """
    at, u = estimates(inputs), uncertainties(inputs)
    first = sensitivities(model, inputs) * u
    total = float((first**2).sum())

    def f(*moves: tuple[int, int]) -> float:
        point = at.copy()
        for which, sign in moves:
            point[which] += sign * u[which]
        return float(model(point))

    for i in range(len(inputs)):
        for j in range(len(inputs)):
            if i == j:
                second = f((i, 1)) - 2 * f() + f((i, -1))
                third = (
                    f((i, 1), (i, 1)) - 2 * f((i, 1)) + 2 * f((i, -1)) - f((i, -1), (i, -1))
                ) / 2
            else:
                corners = {(a, b): f((i, a), (j, b)) for a in (1, -1) for b in (1, -1)}
                second = (corners[1, 1] - corners[1, -1] - corners[-1, 1] + corners[-1, -1]) / 4
                third = (
                    corners[1, 1]
                    - 2 * f((i, 1))
                    + corners[1, -1]
                    - corners[-1, 1]
                    + 2 * f((i, -1))
                    - corners[-1, -1]
                ) / 2
            total += 0.5 * second**2 + first[i] * third
    return sqrt(max(total, 0.0))
