"""A straight line through calibration points, with the covariance that predictions need.

The model of GUM H.3: fit the correction against the reading, keep both uncertainties and their
correlation, and predict with them.
"""

from dataclasses import dataclass
from math import sqrt

from numpy.typing import ArrayLike

from closedcup.errors import InputError, Refused
from closedcup.metrology.series import checked


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope (x - x₀), fitted by least squares."""

    at: float
    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    correlation: float
    residual_deviation: float
    degrees_of_freedom: int
    lowest: float
    highest: float

    def predict(self, x: float) -> tuple[float, float]:
        """Return y at x with u from u² = u₁² + t² u₂² + 2 t r u₁ u₂, where t = x - x₀."""
        t = x - self.at
        u1, u2 = self.intercept_uncertainty, self.slope_uncertainty
        variance = u1**2 + (t * u2) ** 2 + 2 * t * self.correlation * u1 * u2
        return self.intercept + self.slope * t, sqrt(max(variance, 0.0))


def fit_line(
    x: ArrayLike, y: ArrayLike, *, at: float = 0.0, common_uncertainty: float = 0.0
) -> Line:
    """Fit a line; `at` is x₀, where the intercept is given.

    common_uncertainty: of an error that all y share, such as the reference thermometer's; it adds
    to the intercept's only. At least 3 points at 2 different x. Raises Refused for fewer.
    InputError where x and y differ in number.
    """
    xs = checked(x, at_least=3, purpose="A line")
    ys = checked(y, at_least=3, purpose="A line", spread=False)
    if xs.size != ys.size:
        raise InputError(
            "points-unequal", f"{xs.size} x and {ys.size} y make no points.", where="points"
        )
    middle = float(xs.mean())
    away = xs - middle
    square = float(away @ away)
    slope = float(away @ (ys - ys.mean())) / square
    residuals = ys - ys.mean() - slope * away
    freedom = xs.size - 2
    s = sqrt(float(residuals @ residuals) / freedom)
    if common_uncertainty < 0:
        raise Refused("uncertainty", "An uncertainty is not negative.", where="common_uncertainty")
    shift = at - middle
    u_slope = s / sqrt(square)
    u_at = sqrt(s**2 / xs.size + (shift * u_slope) ** 2 + common_uncertainty**2)
    return Line(
        at=at,
        intercept=float(ys.mean()) + slope * shift,
        slope=slope,
        intercept_uncertainty=u_at,
        slope_uncertainty=u_slope,
        correlation=shift * u_slope / u_at if u_at else 0.0,
        residual_deviation=s,
        degrees_of_freedom=freedom,
        lowest=float(xs.min()),
        highest=float(xs.max()),
    )
