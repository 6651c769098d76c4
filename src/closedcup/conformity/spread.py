"""How far a result may lie from the truth, and the bands that the rules draw from it."""

import math
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError

# Reproducibility is the 95 % difference between two single results: R = 1.96 √2 s = 2.7719 s
# (ISO 4259; the factor follows from the normal distribution).
REPRODUCIBILITY_TO_DEVIATION: Final = 1.959964 * math.sqrt(2)
# The guard band of a single result in units of R, as the rule prints it (ISO 4259-2; memory).
GUARD_BAND_FACTOR: Final = 0.59
# The one-sided 95 % quantile of the normal distribution.
ONE_SIDED_95: Final = 1.644854


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a result may lie from the truth, and the guard band that goes with it.

    All in °C of difference. `dispute_band_c` is how far beyond a limit a result must lie for
    failing to be 95 % certain. `words` says where the spread comes from.
    """

    standard_c: float
    guard_band_c: float
    dispute_band_c: float
    words: str


def _require_positive(value: float, what: str, where: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(
            "not-positive",
            f"A {what} of {value:g} °C is not possible.",
            where=where,
            fix="Give a difference above zero.",
        )


def spread_from_uncertainty(expanded_c: float, coverage_factor: float = 2.0) -> Spread:
    """Return the spread of an expanded uncertainty U = k u; the guard band is U.

    Raises InputError unless both are positive.
    """
    _require_positive(expanded_c, "expanded uncertainty", "uncertainty")
    _require_positive(coverage_factor, "coverage factor", "coverage")
    words = f"the expanded uncertainty U = {expanded_c:g} °C, k = {coverage_factor:g}"
    standard_c = expanded_c / coverage_factor
    return Spread(standard_c, expanded_c, ONE_SIDED_95 * standard_c, words)


def spread_from_reproducibility(reproducibility_c: float) -> Spread:
    """Return the spread of a method's reproducibility R, for a single result.

    u = R / 2.7719, guard band 0.59 R. Raises InputError unless R is positive.
    """
    _require_positive(reproducibility_c, "reproducibility", "method")
    band_c = GUARD_BAND_FACTOR * reproducibility_c
    words = f"0.59 R, with the reproducibility R = {reproducibility_c:.3g} °C of the method"
    return Spread(reproducibility_c / REPRODUCIBILITY_TO_DEVIATION, band_c, band_c, words)
