"""Results on reference materials in the order in which they were made, and what each was under."""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError, Refused

Floats = NDArray[np.float64]

LEAST_RESULTS: Final = 8
"""Fewer leave no freedom beside a step and the noise (our choice)."""
PARTS: Final = ("lid", "igniter", "operator", "lot")
"""What can be changed from one result to the next, and bring a step with it."""

# The 95 % difference of two results is 1.96 √2 standard deviations.
_TWO_RESULTS: Final = 1.96 * 2**0.5


@dataclass(frozen=True, slots=True)
class ReferenceHistory:
    """Differences of results from their reference values; n of each, in °C, in order of time.

    difference_c: result less reference value, both at 101.3 kPa. repeatability_c: the method's r
    there. resolution_c: what results are rounded to. reference_uncertainty_c: standard uncertainty
    of the reference values. temperature_c: the reference value. pressure_correction_c: what the
    method's formula adds at the station's pressure. rate_c_per_min: heating rate as measured.
    parts: for "lid", "igniter", "operator", "lot" which one was in use. None or absent: not on
    record.
    """

    difference_c: Floats
    repeatability_c: Floats
    resolution_c: float = 0.0
    reference_uncertainty_c: float = 0.0
    temperature_c: Floats | None = None
    pressure_correction_c: Floats | None = None
    rate_c_per_min: Floats | None = None
    days_since_calibration: Floats | None = None
    first_of_day: NDArray[np.bool_] | None = None
    parts: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def check(self) -> None:
        """Raise Refused for fewer than 8 results, InputError for figures that are none."""
        count = self.difference_c.size
        if count < LEAST_RESULTS:
            raise Refused(
                "too-few-results",
                f"{count} results cannot tell causes apart; at least {LEAST_RESULTS} are needed.",
                where="history",
                fix=f"Make {LEAST_RESULTS - count} more, and write down what each was made under.",
            )
        if not np.isfinite(self.difference_c).all():
            raise InputError("not-a-number", "A difference is not a number.", where="history")
        if not (self.repeatability_c > 0).all():
            raise InputError("r-not-positive", "Repeatability must be above zero.", where="history")

    @property
    def noise_c(self) -> Floats:
        """Standard deviation to be expected of each result: repeatability and rounding, n."""
        rounding = self.resolution_c**2 / 12  # variance of a uniform distribution (GUM 4.3.7)
        noise: Floats = np.sqrt((self.repeatability_c / _TWO_RESULTS) ** 2 + rounding)
        return noise

    @property
    def mean_repeatability_c(self) -> float:
        """The unit in which effects are given as multiples of r."""
        return float(np.mean(self.repeatability_c))
