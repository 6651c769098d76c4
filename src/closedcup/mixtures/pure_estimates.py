"""Flash points of pure liquids for which no table has one, from what else is known of them.

Four published forms, each with its own limits (one of them twice: with the flammable limit on
record, and with one taken from the stoichiometric mixture). How far each lies from the consensus
values of the catalogue, by class of liquid, was measured by `tools/build_liquids.py` and stands in
`pure_estimate_errors.csv`; the form with the smallest mean error for the class is used, and the
distance that holds 95 % of its errors is the half width. The authors of these forms fitted them to
values like these, so the errors may be optimistic for liquids unlike those of the catalogue.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.tables import bibliography, cite, data_file
from closedcup.mixtures.vapour_pressure import Correlation, ln_vapour_pressure
from closedcup.sources import Known, load_rows

KELVIN: Final = 273.15
STANDARD_PA: Final = 101325.0
_GAS_CONSTANT_KJ: Final = 8.314462618e-3
# A class is judged by itself from this many liquids on, else by all classes together.
ENOUGH_LIQUIDS: Final = 20


@dataclass(frozen=True, slots=True)
class PureEstimate:
    """An estimated flash point (101.3 kPa), the form that gave it, and its measured error.

    `half_width_c` is the distance within which 95 % of `liquids` consensus values of the class
    `measured_on` lay; `mean_error_c` and `bias_c` (estimate less consensus) are of the same set.
    """

    flash_c: float
    form: str
    text: str
    half_width_c: float
    mean_error_c: float
    bias_c: float
    liquids: int
    measured_on: str
    source: str
    known: Known

    def as_json(self) -> dict[str, object]:
        """Return the object that programs read."""
        return {
            "flash_point_c": round(self.flash_c, 2),
            "form": self.form,
            "text": self.text,
            "half_width_c": self.half_width_c,
            "mean_error_c": self.mean_error_c,
            "bias_c": self.bias_c,
            "liquids": self.liquids,
            "measured_on": self.measured_on,
            "holds_for": VALIDITY[self.form],
            "source": self.source,
            "known": self.known,
        }


def catoire_naudet(liquid: Liquid) -> float | None:
    """Return the flash point in °C by Catoire and Naudet (2004), or None outside its range.

    T_f = 1.477 T_b^0.79686 ΔH_v^0.16845 n^−0.05948 (kelvin, kJ/mol at 25 °C, n carbon atoms).
    Range as recalled: boiling at 250 to 650 K, 20 to 110 kJ/mol, 1 to 21 carbon atoms. A heat of
    vaporisation that is not on record is taken from the slope of the vapour pressure.
    """
    boiling, heat = boiling_k(liquid), heat_of_vaporisation_kj_mol(liquid)
    carbons = atoms(liquid.formula).get("C", 0)
    if boiling is None or heat is None:
        return None
    if not (250 <= boiling <= 650 and 20 <= heat <= 110 and 1 <= carbons <= 21):
        return None
    return float(1.477 * boiling**0.79686 * heat**0.16845 * carbons**-0.05948) - KELVIN


def prugh(liquid: Liquid) -> float | None:
    """Return the flash point in °C by Prugh (1973), or None outside its range.

    T_f = T_b / (1.442 − 0.08707 ln C), for liquids with a hydroxyl group
    T_b / (1.3611 − 0.0697 ln C), with C = 83.8/(4C + 4S + H − X − 2O + 0.84) the vapour in a
    stoichiometric mixture in per cent (as recalled). For C, H, N, O, S and halogens only.
    """
    boiling, counts = boiling_k(liquid), atoms(liquid.formula)
    stoichiometric = _prugh_percent(counts)
    if boiling is None or stoichiometric is None or not 250 <= boiling <= 700:
        return None
    if liquid.chemical_class in ("alcohol", "glycol ether", "glycol"):
        return boiling / (1.3611 - 0.0697 * float(np.log(stoichiometric))) - KELVIN
    return boiling / (1.442 - 0.08707 * float(np.log(stoichiometric))) - KELVIN


def class_linear(liquid: Liquid) -> float | None:
    """Return a + b × boiling point (°C) with the constants of the liquid's class, if it has any."""
    row = class_lines().get(liquid.chemical_class)
    boiling = boiling_k(liquid)
    if row is None or boiling is None:
        return None
    return float(row["intercept_c"]) + float(row["slope"]) * (boiling - KELVIN)


def saturation_at_limit(liquid: Liquid) -> float | None:
    """Return the temperature in °C at which saturated vapour reaches the lower flammable limit.

    The limit falls to nil at 1300 °C (Burgess and Wheeler: by 0.0784 % of its value at 25 °C per
    kelvin). Needs a flammable limit on record and a vapour pressure.
    """
    limit = liquid.properties.get("lfl_percent")
    return None if limit is None else _saturation_c(liquid, limit.value)


def saturation_at_half_stoichiometric(liquid: Liquid) -> float | None:
    """Return the same with the limit taken as 0.55 of the stoichiometric mixture (Jones, 1938).

    For liquids of C, H, N, O and S that have a vapour pressure.
    """
    stoichiometric = stoichiometric_percent(atoms(liquid.formula))
    return None if stoichiometric is None else _saturation_c(liquid, 0.55 * stoichiometric)


FORMS: Final[Mapping[str, Callable[[Liquid], float | None]]] = {
    "Catoire–Naudet": catoire_naudet,
    "Prugh": prugh,
    "class-linear": class_linear,
    "saturation at the flammable limit": saturation_at_limit,
    "saturation at 0.55 stoichiometric": saturation_at_half_stoichiometric,
}
# What each form holds for, in words; the functions refuse what lies outside.
VALIDITY: Final[Mapping[str, str]] = {
    "Catoire–Naudet": "boiling at −23 to 377 °C, 20 to 110 kJ/mol, 1 to 21 carbon atoms",
    "Prugh": "C, H, N, O, S, halogens; boiling at −23 to 427 °C",
    "class-linear": "liquids of a class that the table has, with a boiling point",
    "saturation at the flammable limit": "a limit on record and a vapour pressure",
    "saturation at 0.55 stoichiometric": "C, H, N, O and S with a vapour pressure",
}
_SOURCES: Final[Mapping[str, tuple[str, Known]]] = {
    "Catoire–Naudet": ("catoire-2004", "read"),
    "Prugh": ("prugh-1973", "memory"),
    "class-linear": ("class-lines", "read"),
    "saturation at the flammable limit": ("burgess-wheeler", "read"),
    "saturation at 0.55 stoichiometric": ("jones-1938 + burgess-wheeler", "memory"),
}


def pure_estimates(liquid: Liquid) -> tuple[PureEstimate, ...]:
    """Return every estimate that is valid for a liquid, the smallest measured mean error first.

    Empty for water and other inert liquids, for halogenated ones (masking), for products of
    changing composition, and where too little is known.
    """
    if liquid.role != "flammable" or liquid.chemical_class == "product":
        return ()
    found = [
        made
        for form, function in FORMS.items()
        if (value := function(liquid)) is not None
        and (made := _with_error(form, value, liquid.chemical_class)) is not None
    ]
    return tuple(sorted(found, key=lambda made: made.mean_error_c))


def best_estimate(liquid: Liquid) -> PureEstimate | None:
    """Return the valid estimate with the smallest measured error for the class of the liquid."""
    found = pure_estimates(liquid)
    return found[0] if found else None


def error_row(
    errors: Mapping[tuple[str, str], dict[str, str]], form: str, chemical_class: str
) -> dict[str, str] | None:
    """Return a form's measured errors for a class, or for all classes where it has too few."""
    row = errors.get((form, chemical_class))
    if row is None or int(row["liquids"]) < ENOUGH_LIQUIDS:
        row = errors.get((form, "all"))
    return row


def _with_error(form: str, value: float, chemical_class: str) -> PureEstimate | None:
    row = error_row(form_errors(), form, chemical_class)
    if row is None:
        return None
    source, known = _SOURCES[form]
    half_width_c = float(row["within_95_c"])
    measured = f"{row['liquids']} liquids of the class “{row['class']}”"
    if row["class"] == "all":
        measured = f"{row['liquids']} liquids of all classes that the form covers"
    return PureEstimate(
        flash_c=value,
        form=form,
        text=f"no measured value on record: estimated as {value:.1f} °C by the form "
        f"“{form}”; 95 % of {measured} with consensus values lie within {half_width_c:g} °C of it",
        half_width_c=half_width_c,
        mean_error_c=float(row["mean_error_c"]),
        bias_c=float(row["bias_c"]),
        liquids=int(row["liquids"]),
        measured_on=row["class"],
        source=cite(source),
        known=known,
    )


@cache
def form_errors() -> Mapping[tuple[str, str], dict[str, str]]:
    """Return the measured error of each form by class of liquid."""
    rows = load_rows(data_file("pure_estimate_errors.csv"), bibliography())
    return {(row["form"], row["class"]): row for row in rows}


@cache
def class_lines() -> Mapping[str, dict[str, str]]:
    """Return the published lines by class of liquid."""
    rows = load_rows(data_file("class_lines.csv"), bibliography())
    return {row["class"]: row for row in rows}


def within_95(errors: Sequence[float]) -> float:
    """Return the distance that holds the next error of the same kind 19 times of 20.

    The ⌈0.95 (n + 1)⌉-th smallest of n errors: the largest where n is below 39.
    """
    rank = math.ceil(0.95 * (len(errors) + 1))
    return sorted(abs(error) for error in errors)[min(rank, len(errors)) - 1]


def atoms(formula: str) -> dict[str, int]:
    """Count the atoms of a formula without brackets, "C2H6O"."""
    counts: dict[str, int] = {}
    for element, number in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
        counts[element] = counts.get(element, 0) + int(number or 1)
    return counts


def boiling_k(liquid: Liquid) -> float | None:
    """Return the normal boiling point, from the record or else from the vapour pressure."""
    boiling = liquid.properties.get("boiling_c")
    if boiling is not None:
        return boiling.value + KELVIN
    if liquid.vapour_pressure is None:
        return None
    return temperature_k(liquid.vapour_pressure, STANDARD_PA)


def heat_of_vaporisation_kj_mol(liquid: Liquid) -> float | None:
    """Return the heat of vaporisation at 25 °C, on record or R T² d(ln p)/dT at 25 °C."""
    known = liquid.properties.get("heat_of_vaporisation_25c_kj_mol")
    if known is not None:
        return known.value
    if liquid.vapour_pressure is None:
        return None
    at = np.array([297.65, 298.65])
    low, high = ln_vapour_pressure(liquid.vapour_pressure, at)
    return _GAS_CONSTANT_KJ * 298.15**2 * float(high - low)


def stoichiometric_percent(counts: Mapping[str, int]) -> float | None:
    """Return the vapour in a stoichiometric mixture with air (20.95 % oxygen), % by volume."""
    if set(counts) - set("CHNOS") or "C" not in counts:
        return None
    oxygen = counts["C"] + counts.get("S", 0) + counts.get("H", 0) / 4 - counts.get("O", 0) / 2
    return 100 / (1 + oxygen / 0.2095) if oxygen > 0 else None


def _prugh_percent(counts: Mapping[str, int]) -> float | None:
    halogens = sum(counts.get(element, 0) for element in ("F", "Cl", "Br", "I"))
    if set(counts) - {"C", "H", "N", "O", "S", "F", "Cl", "Br", "I"} or "C" not in counts:
        return None
    oxygen = 4 * counts["C"] + 4 * counts.get("S", 0) + counts.get("H", 0)
    needed = oxygen - halogens - 2 * counts.get("O", 0) + 0.84
    return 83.8 / needed if needed > 1 else None


def _saturation_c(liquid: Liquid, limit_25c_percent: float) -> float | None:
    if liquid.vapour_pressure is None:
        return None
    found = temperature_k(liquid.vapour_pressure, STANDARD_PA * limit_25c_percent / 100)
    for _ in range(8):  # the limit moves by 0.08 % per kelvin: each turn gains two digits
        if found is None:
            return None
        limit = limit_25c_percent * (1 - 7.84e-4 * (found - KELVIN - 25))  # Burgess and Wheeler
        found = temperature_k(liquid.vapour_pressure, STANDARD_PA * limit / 100)
    return None if found is None else found - KELVIN


def temperature_k(correlation: Correlation, pressure_pa: float) -> float | None:
    """Return where a vapour pressure first rises to a pressure, from 120 K to 900 K, or None."""
    target, grid = float(np.log(pressure_pa)), np.arange(120.0, 901.0, 20.0)
    below = ln_vapour_pressure(correlation, grid) < target
    rising = np.flatnonzero(below[:-1] & ~below[1:])
    if len(rising) == 0:
        return None
    low, high = float(grid[rising[0]]), float(grid[rising[0] + 1])
    for _ in range(40):
        middle = (low + high) / 2
        if float(ln_vapour_pressure(correlation, np.array([middle]))[0]) < target:
            low = middle
        else:
            high = middle
    return (low + high) / 2
