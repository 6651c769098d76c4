"""Vapour pressure of pure liquids from published correlations, for whole arrays at once."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.sources import Known

Array = NDArray[np.float64]

_LN_10: Final = float(np.log(10.0))


@dataclass(frozen=True, slots=True)
class Correlation:
    """A vapour-pressure equation with its constants, its range in kelvin and its source."""

    equation: str
    constants: tuple[float, ...]
    low_k: float
    high_k: float
    source: str
    known: Known

    def holds(self, temperature_k: float) -> bool:
        """Say whether a temperature lies inside the published range."""
        return self.low_k <= temperature_k <= self.high_k


def ln_vapour_pressure(correlation: Correlation, temperature_k: Array) -> Array:
    """Return ln(p/Pa) at each temperature; any shape, kelvin in.

    Outside the correlation's range the equation is extrapolated (the caller warns; see
    `Correlation.holds`); a Wagner equation stays at its critical pressure above the critical
    temperature. Sources: each correlation names its own.
    """
    return _EQUATIONS[correlation.equation](correlation.constants, temperature_k)


def vapour_pressure_kpa(correlation: Correlation, temperature_c: Array | float) -> Array:
    """Return the vapour pressure in kilopascal at each temperature in degrees Celsius."""
    temperature_k = np.asarray(temperature_c, dtype=np.float64) + 273.15
    return np.exp(ln_vapour_pressure(correlation, temperature_k)) / 1000


def _wagner_25_5(constants: tuple[float, ...], temperature_k: Array) -> Array:
    """ln(p/pc) = (a τ + b τ^1.5 + c τ^2.5 + d τ^5) / Tr with τ = 1 - Tr."""
    a, b, c, d, critical_k, critical_pa = constants
    reduced = np.minimum(temperature_k / critical_k, 1.0)
    tau = 1.0 - reduced
    root, square = np.sqrt(tau), tau * tau  # np.power costs as much as the rest together
    result: Array = tau * (a + root * (b + tau * c) + square * square * d) / reduced
    return result + float(np.log(critical_pa))


def _wagner_3_6(constants: tuple[float, ...], temperature_k: Array) -> Array:
    """ln(p/pc) = (a τ + b τ^1.5 + c τ^3 + d τ^6) / Tr with τ = 1 - Tr."""
    a, b, c, d, critical_k, critical_pa = constants
    reduced = np.minimum(temperature_k / critical_k, 1.0)
    tau = 1.0 - reduced
    square = tau * tau
    result: Array = tau * (a + b * np.sqrt(tau) + square * (c + d * square * tau)) / reduced
    return result + float(np.log(critical_pa))


def _dippr_101(constants: tuple[float, ...], temperature_k: Array) -> Array:
    """ln(p/Pa) = c1 + c2/T + c3 ln T + c4 T^c5."""
    c1, c2, c3, c4, c5 = constants
    result: Array = c1 + c2 / temperature_k + c3 * np.log(temperature_k) + c4 * temperature_k**c5
    return result


def _antoine_ln(constants: tuple[float, ...], temperature_k: Array) -> Array:
    """ln(p/Pa) = a − b/(T + c); below the pole the pressure is nil."""
    a, b, c = constants
    result: Array = a - b / np.maximum(temperature_k + c, 1e-3)
    return result


def _antoine_log10(constants: tuple[float, ...], temperature_k: Array) -> Array:
    return _LN_10 * _antoine_ln(constants, temperature_k)


def _lee_kesler(constants: tuple[float, ...], temperature_k: Array) -> Array:
    critical_k, critical_pa, acentric = constants
    simple, correction = lee_kesler_terms(temperature_k / critical_k)
    return simple + acentric * correction + float(np.log(critical_pa))


def lee_kesler_terms(reduced: Array) -> tuple[Array, Array]:
    """Return the two terms of ln(p/pc) at reduced temperatures: Lee and Kesler 1975 (memory)."""
    logarithm, sixth = np.log(reduced), reduced**6
    simple: Array = 5.92714 - 6.09648 / reduced - 1.28862 * logarithm + 0.169347 * sixth
    correction: Array = 15.2518 - 15.6875 / reduced - 13.4721 * logarithm + 0.43577 * sixth
    return simple, correction


# How many constants each equation takes.
EQUATIONS: Final = {
    "wagner-2.5-5": 6,
    "wagner-3-6": 6,
    "dippr-101": 5,
    "antoine-ln": 3,
    "antoine-log10": 3,
    "lee-kesler": 3,
}
_EQUATIONS: Final = {
    "wagner-2.5-5": _wagner_25_5,
    "wagner-3-6": _wagner_3_6,
    "dippr-101": _dippr_101,
    "antoine-ln": _antoine_ln,
    "antoine-log10": _antoine_log10,
    "lee-kesler": _lee_kesler,
}
