"""Input quantities of a measurement: an estimate, its standard uncertainty, its distribution."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, isfinite, sqrt
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError

Floats = NDArray[np.float64]
Distribution = Literal["normal", "rectangular", "triangular", "arcsine"]
Model = Callable[[Floats], Floats]
"""From inputs, shape (inputs, …), to the measurand, shape (…)."""

# Half-width over standard uncertainty (GUM 4.3.7 and 4.3.9; arcsine: GUM H.1).
_HALF_WIDTHS: Final = {"rectangular": sqrt(3), "triangular": sqrt(6), "arcsine": sqrt(2)}
DISTRIBUTIONS: Final = ("normal", *_HALF_WIDTHS)


@dataclass(frozen=True, slots=True)
class Input:
    """One input quantity.

    A normal one with finite degrees of freedom is drawn from Student's t (JCGM 101, 6.4.9);
    with the others the degrees of freedom only enter the effective ones.
    """

    name: str
    estimate: float
    uncertainty: float
    distribution: Distribution = "normal"
    degrees_of_freedom: float = inf

    def __post_init__(self) -> None:
        """Raise InputError for an uncertainty or degrees of freedom that are none."""
        if not (isfinite(self.estimate) and isfinite(self.uncertainty)) or self.uncertainty < 0:
            raise InputError(
                "uncertainty",
                f"{self.name}: {self.estimate:g} ± {self.uncertainty:g} is no estimate with an "
                "uncertainty.",
                where=f"input {self.name}",
                fix="Give a number and a standard uncertainty that is not negative.",
            )
        if not self.degrees_of_freedom > 0:
            raise InputError(
                "degrees-of-freedom",
                f"{self.name}: degrees of freedom must be above zero.",
                where=f"input {self.name}",
            )
        if self.distribution not in DISTRIBUTIONS:
            raise InputError(
                "distribution-unknown",
                f"{self.name}: there is no distribution “{self.distribution}”.",
                where=f"input {self.name}",
                fix=f"One of: {', '.join(DISTRIBUTIONS)}.",
            )

    def draw(self, generator: np.random.Generator, count: int) -> Floats:
        """Return random values of this quantity (JCGM 101, 6.4)."""
        if self.distribution == "normal":
            finite = isfinite(self.degrees_of_freedom)
            return self.estimate + self.uncertainty * (
                generator.standard_t(self.degrees_of_freedom, count)
                if finite
                else generator.standard_normal(count)
            )
        half = self.uncertainty * _HALF_WIDTHS[self.distribution]
        if self.distribution == "rectangular":
            return self.estimate + half * generator.uniform(-1.0, 1.0, count)
        if self.distribution == "triangular":
            return self.estimate + half * generator.triangular(-1.0, 0.0, 1.0, count)
        return self.estimate + half * np.sin(2 * np.pi * generator.random(count))


def within(
    name: str,
    estimate: float,
    half_width: float,
    distribution: Distribution = "rectangular",
    degrees_of_freedom: float = inf,
) -> Input:
    """Return an input known to lie within ± half_width.

    Raises InputError for a distribution that has no half-width.
    """
    if distribution not in _HALF_WIDTHS:
        raise InputError(
            "half-width",
            f"{name}: a half-width belongs to {', '.join(_HALF_WIDTHS)}.",
            where=f"input {name}",
        )
    return Input(
        name, estimate, half_width / _HALF_WIDTHS[distribution], distribution, degrees_of_freedom
    )


def estimates(inputs: Sequence[Input]) -> Floats:
    """Return the estimates of all inputs; InputError where there are none."""
    if not inputs:
        raise InputError("inputs-missing", "A budget needs inputs.", where="budget")
    return np.array([one.estimate for one in inputs])


def uncertainties(inputs: Sequence[Input]) -> Floats:
    """Return the standard uncertainties of all inputs."""
    return np.array([one.uncertainty for one in inputs])
