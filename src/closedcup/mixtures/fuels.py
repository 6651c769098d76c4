"""Fuels and residues without a composition: pseudo-components from a distillation curve.

A curve is cut into slices of equal volume (D86) or mass (simulated distillation). Each slice has
its boiling point, a density by one Watson factor for the whole fuel, and from these its molar
mass, critical point and vapour pressure. Flash points then follow by several published ways; none
is trusted alone, and their span is the answer's interval. Sources are recalled where marked.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError, Refused
from closedcup.mixtures.flash_point import KELVIN, roots_k
from closedcup.mixtures.liquids import bibliography, data_file
from closedcup.mixtures.vapour_pressure import lee_kesler_terms
from closedcup.sources import Known, load_rows, parse_known

Array = NDArray[np.float64]
CurveKind = Literal["d86", "simulated"]
CURVE_KINDS: Final[tuple[CurveKind, ...]] = ("d86", "simulated")

SLICES: Final = 40
# A fuel of unknown density: between aromatic (11) and paraffinic (13) stocks (memory).
USUAL_WATSON: Final = 11.9
ATMOSPHERE_PA: Final = 101_325.0
PSI_PA: Final = 6894.757
# Riazi and Daubert's a and b of T_true = a T_D86^b (kelvin) by percent distilled (memory).
D86_TO_TRUE: Final = {
    0: (0.9177, 1.0019), 10: (0.5564, 1.0900), 30: (0.7617, 1.0425), 50: (0.9013, 1.0176),
    70: (0.8821, 1.0226), 90: (0.9552, 1.0110), 95: (0.8177, 1.0355),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class FuelCorrelation:
    """A published correlation with its constants, range of input, judged error and source."""

    name: str
    form: str
    constants: tuple[float, ...]
    low_c: float
    high_c: float
    half_width_c: float
    note: str
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class PseudoComponents:
    """Slices of a fuel; shape (slices,). `mole_fractions` sum to one; SI inside."""

    boiling_k: Array
    relative_density: Array
    molar_mass_g_mol: Array
    mole_fractions: Array
    critical_k: Array
    critical_pa: Array
    acentric: Array

    def ln_vapour_pressure(self, temperature_k: Array) -> Array:
        """Return ln(p/Pa), shape (slices, temperatures): Lee and Kesler 1975 (memory)."""
        reduced = temperature_k / self.critical_k[:, None]
        simple, correction = lee_kesler_terms(reduced)
        result: Array = np.log(self.critical_pa)[:, None] + simple
        return result + self.acentric[:, None] * correction


@dataclass(frozen=True, slots=True)
class FuelFlash:
    """The flash point of a fuel by one correlation; `outside` where its range does not hold."""

    correlation: FuelCorrelation
    flash_c: float
    outside: bool


@cache
def correlations() -> Mapping[str, FuelCorrelation]:
    """Return the published correlations by their form."""
    rows = load_rows(data_file("fuel_correlations.csv"), bibliography())
    return {
        row["form"]: FuelCorrelation(
            name=row["name"],
            form=row["form"],
            constants=tuple(float(row[key]) for key in ("c1", "c2", "c3") if row[key]),
            low_c=float(row["low_c"]),
            high_c=float(row["high_c"]),
            half_width_c=float(row["half_width_c"] or "nan"),
            note=row["note"],
            source=" + ".join(bibliography().cite(key) for key in row["source"].split(" + ")),
            known=parse_known(row["known"], where=row["name"]),
        )
        for row in rows
    }


def pseudo_components(
    curve: Mapping[float, float], *, kind: CurveKind = "d86", relative_density: float | None = None
) -> PseudoComponents:
    """Cut a distillation curve, percent to degrees Celsius at 101.3 kPa, into pseudo-components.

    A D86 curve is by volume and turned into true boiling points; a simulated one is by mass and
    taken as true. Beyond the first and last points the curve goes on straight. Raises InputError
    for a curve that falls, is too short, or an impossible density.
    """
    _check(curve, relative_density)
    percent = np.array(sorted(curve))
    boiling_k = np.array([curve[each] for each in percent]) + KELVIN
    if kind == "d86":
        boiling_k = _true_boiling_k(percent, boiling_k)
    middles = (np.arange(SLICES) + 0.5) * 100 / SLICES
    slices_k = _extended(middles, percent, boiling_k)
    root = np.cbrt(1.8 * slices_k)
    watson = USUAL_WATSON if relative_density is None else float(root.mean()) / relative_density
    return _slices(slices_k, root / watson, by_mass=kind == "simulated")


def fuel_flashes(
    curve: Mapping[float, float], *, kind: CurveKind = "d86", relative_density: float | None = None
) -> tuple[FuelFlash, ...]:
    """Return the flash point (corrected scale) of a fuel by every way that its curve allows."""
    pseudo = pseudo_components(curve, kind=kind, relative_density=relative_density)
    found = []
    if kind == "d86":
        t10_c = float(_extended(np.array([10.0]), *_points(curve))[0])
        forms = ("inverse-t10", "linear-t10")
        found = [_from_t10(correlations()[form], t10_c) for form in forms]
    return (*found, _by_alkane_line(pseudo), *_by_constant_product(pseudo))


def _from_t10(correlation: FuelCorrelation, t10_c: float) -> FuelFlash:
    t10_k = t10_c + KELVIN
    if correlation.form == "inverse-t10":
        a, b, c = correlation.constants
        flash_k = 1 / (a + b / t10_k + c * math.log(t10_k))
    else:
        a, b = correlation.constants
        flash_k = a + b * t10_k
    outside = not correlation.low_c <= t10_c <= correlation.high_c
    return FuelFlash(correlation, flash_k - KELVIN, outside)


def _by_alkane_line(pseudo: PseudoComponents) -> FuelFlash:
    """Solve Liaw's sum with each slice's flash point linear in its boiling point, ideal liquid."""
    correlation = correlations()["class-linear-c"]
    a, b = correlation.constants
    flash_k = a + b * (pseudo.boiling_k - KELVIN) + KELVIN
    at_flash = np.diag(pseudo.ln_vapour_pressure(flash_k))
    return _solved(correlation, pseudo, np.exp(-at_flash), 0.0)


def _by_constant_product(pseudo: PseudoComponents) -> tuple[FuelFlash, ...]:
    """Solve Σ x M p = constant for the middle of the published constants."""
    correlation = correlations()["mp-psia"]
    low, high = correlation.constants
    target = math.log(math.sqrt(low * high) * PSI_PA)
    return (_solved(correlation, pseudo, pseudo.molar_mass_g_mol, target),)


def _solved(
    correlation: FuelCorrelation, pseudo: PseudoComponents, factor: Array, target: float
) -> FuelFlash:
    def log_parts(_: NDArray[np.intp], temperature_k: Array) -> Array:
        return pseudo.ln_vapour_pressure(temperature_k)

    weights = (pseudo.mole_fractions * factor)[:, None]
    start = np.array([1 / (0.75 * float(np.median(pseudo.boiling_k)))])
    slopes = np.full((len(weights), 1), -5000.0)  # any usual fall of ln p; it only starts
    flash_k, _ = roots_k(log_parts, weights, start, slopes, target)
    if np.isnan(flash_k[0]):
        raise Refused(
            "no-flash",
            "No flash point can be calculated from this curve.",
            where="distillation",
            fix="Check the curve; measure without an estimate, starting cold.",
        )
    front_c = float(pseudo.boiling_k[0]) - KELVIN
    outside = not correlation.low_c <= front_c <= correlation.high_c
    return FuelFlash(correlation, float(flash_k[0]) - KELVIN, outside)


def _check(curve: Mapping[float, float], relative_density: float | None) -> None:
    points = sorted(curve.items())
    if len(points) < 3 or points[0][0] > 10 or points[-1][0] < 50:
        raise InputError(
            "curve-too-short",
            "The curve needs three points or more, from 10 % or less to 50 % or more.",
            where="distillation",
            fix="Give, for example, 10 %, 50 % and 90 %.",
        )
    if not 0 <= points[0][0] <= points[-1][0] <= 100:
        raise InputError("curve-impossible", "Percent distilled lie between 0 and 100.",
                         where="distillation", fix="Correct the curve.")  # fmt: skip
    for (percent, low_c), (next_percent, high_c) in pairwise(points):
        if not high_c > low_c > -KELVIN:
            raise InputError(
                "curve-falls",
                f"The curve does not rise from {percent:g} % to {next_percent:g} %.",
                where="distillation",
                fix="Correct the temperatures.",
            )
    if relative_density is not None and not 0.5 < relative_density < 1.2:
        raise InputError(
            "density-impossible",
            f"A relative density of {relative_density:g} is not that of a fuel.",
            where="relative density",
            fix="Give it at 15 °C against water, such as 0.84.",
        )


def _points(curve: Mapping[float, float]) -> tuple[Array, Array]:
    percent = sorted(curve)
    return np.array(percent), np.array([curve[each] for each in percent])


def _extended(at: Array, percent: Array, values: Array) -> Array:
    """Interpolate straight between the points, and go on straight beyond them."""
    slope_first = (values[1] - values[0]) / (percent[1] - percent[0])
    slope_last = (values[-1] - values[-2]) / (percent[-1] - percent[-2])
    inside = np.interp(at, percent, values)
    below = np.minimum(at - percent[0], 0) * slope_first
    result: Array = inside + below + np.maximum(at - percent[-1], 0) * slope_last
    return result


def _true_boiling_k(percent: Array, d86_k: Array) -> Array:
    at = np.array(list(D86_TO_TRUE))
    table = np.array(list(D86_TO_TRUE.values()))
    converted = np.array([a * d86_k**b for a, b in table])
    result: Array = np.array([np.interp(each, at, converted[:, i])
                              for i, each in enumerate(percent)])  # fmt: skip
    return np.maximum.accumulate(result)


def _slices(boiling_k: Array, relative_density: Array, *, by_mass: bool) -> PseudoComponents:
    """Give slices their properties: Riazi and Daubert 1980 (memory)."""
    molar_mass = 1.6607e-4 * boiling_k**2.1962 * relative_density**-1.0164
    moles = (1.0 if by_mass else relative_density) / molar_mass
    critical_k = 19.06232 * boiling_k**0.58848 * relative_density**0.3596
    critical_pa = 5.53027e12 * boiling_k**-2.3125 * relative_density**2.3201
    simple, correction = lee_kesler_terms((boiling_k / critical_k)[:, None])
    acentric = (np.log(ATMOSPHERE_PA / critical_pa) - simple[:, 0]) / correction[:, 0]
    return PseudoComponents(
        boiling_k, relative_density, molar_mass, moles / moles.sum(), critical_k, critical_pa,
        acentric,
    )  # fmt: skip


def surrogate(flash_c: float, relative_density: float | None = None) -> PseudoComponents:
    """Return one pseudo-component that flashes there, by the line of the alkanes."""
    a, b = correlations()["class-linear-c"].constants
    boiling_k = np.array([(flash_c - a) / b + KELVIN])
    density = np.cbrt(1.8 * boiling_k) / USUAL_WATSON
    if relative_density is not None:
        density = np.array([relative_density])
    return _slices(boiling_k, density, by_mass=False)


def span_c(found: Sequence[FuelFlash]) -> tuple[float, float, float]:
    """Return the middle of the ways that hold, and the span of all of them with their errors.

    The span is no 95 % interval: nobody has measured how often it holds the flash point.
    """
    holding = [each for each in found if not each.outside] or list(found)
    middle = float(np.median([each.flash_c for each in holding]))
    low = min(each.flash_c - each.correlation.half_width_c for each in holding)
    high = max(each.flash_c + each.correlation.half_width_c for each in holding)
    return middle, low, high
