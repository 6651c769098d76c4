"""Blending indices for flash points of fuels, and what a drop in flash point says of a contaminant.

An index turns a flash point into a number that blends in proportion to volume. Published indices
differ by tens of degrees where a little of a very light product meets a heavy one, so a drop says
that there is contamination and that the next specimen starts cold; it does not say how much.
"""

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from closedcup.errors import InputError
from closedcup.mixtures.flash_point import KELVIN
from closedcup.mixtures.fuels import PseudoComponents, correlations, surrogate
from closedcup.mixtures.products import Product, products
from closedcup.sources import Known

# The forms of the published indices, as `fuel_correlations.csv` names them.
INDICES: Final = ("log10-index-f", "power-index-r")
# Two results of one sample differ by about this much (half of a 95 % interval, our judgement
# after the repeatability of the methods); a drop within it says nothing.
RESULT_HALF_WIDTH_C: Final = 2.0
# The one published pair at hand (diesel from 75 to 25 °C by 5 % of petrol; second hand, basis and
# cup not stated) lies above every way of computing it: the upper end is widened to hold it.
UNDERSTATED: Final = 2.0


@dataclass(frozen=True, slots=True)
class ContaminantShare:
    """The volume fraction of a contaminant by one index, over all uncertain inputs."""

    method: str
    low: float
    high: float
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class Contamination:
    """What a drop in flash point says. `shares` is empty where the drop says nothing."""

    drop_c: float
    significant: bool
    shares: tuple[ContaminantShare, ...]

    @property
    def span(self) -> tuple[float, float] | None:
        """The lowest and highest volume fraction, widened; None where the drop says nothing."""
        if not self.shares:
            return None
        highest = UNDERSTATED * max(each.high for each in self.shares)
        return min(each.low for each in self.shares), min(highest, 1.0)


@cache
def contaminants() -> dict[str, Product]:
    """Return the light products on file by name."""
    return {name: product for name, product in products().items() if product.is_light}


def ln_index(form: str, flash_c: float) -> float:
    """Return the natural logarithm of an index: "log10-index-f" or "power-index-r"."""
    constants = correlations()[form].constants
    fahrenheit = 1.8 * flash_c + 32
    if form == "log10-index-f":
        a, b, c = constants
        return math.log(10) * (a + b / (fahrenheit + c))
    return math.log(fahrenheit + 459.67) / constants[0]


def blended_flash_c(form: str, flashes_c: list[float], volume_fractions: list[float]) -> float:
    """Return the flash point of a blend by an index; volume fractions sum to one."""
    logs = [ln_index(form, flash_c) for flash_c in flashes_c]
    pairs = zip(logs, volume_fractions, strict=True)
    total = math.log(math.fsum(share * math.exp(each) for each, share in pairs))
    constants = correlations()[form].constants
    if form == "log10-index-f":
        a, b, c = constants
        fahrenheit = b / (total / math.log(10) - a) - c
    else:
        fahrenheit = math.exp(total * constants[0]) - 459.67
    return (fahrenheit - 32) / 1.8


def contamination(clean_c: float, found_c: float, contaminant: Product) -> Contamination:
    """Say what a drop from a clean to a found flash point (corrected scale) means.

    Raises InputError where the found value is not between the clean one and the contaminant's.
    """
    if not contaminant.flash_c + contaminant.half_width_c < found_c:
        raise InputError(
            "found-too-low",
            f"{found_c:g} °C is not above the flash point of {contaminant.name} itself.",
            where="found",
            fix="Check the value and the contaminant.",
        )
    drop_c = clean_c - found_c
    if drop_c <= math.hypot(RESULT_HALF_WIDTH_C, RESULT_HALF_WIDTH_C):
        return Contamination(drop_c, significant=False, shares=())
    ways: tuple[tuple[str, Callable[[float, float, float], float]], ...] = (
        ("log10-index-f", _by_index("log10-index-f")),
        ("power-index-r", _by_index("power-index-r")),
        ("class-linear-c", _by_pseudo_components),
    )
    corners = list(
        itertools.product(
            (clean_c - RESULT_HALF_WIDTH_C, clean_c + RESULT_HALF_WIDTH_C),
            (found_c - RESULT_HALF_WIDTH_C, found_c + RESULT_HALF_WIDTH_C),
            (contaminant.flash_c - contaminant.half_width_c,
             contaminant.flash_c + contaminant.half_width_c),
        )
    )  # fmt: skip
    shares = []
    for form, share_of in ways:
        found = [min(max(share_of(*corner), 0.0), 1.0) for corner in corners]
        correlation = correlations()[form]
        name = "pseudo-components" if form == "class-linear-c" else correlation.name
        shares.append(
            ContaminantShare(name, min(found), max(found), correlation.source, correlation.known)
        )
    return Contamination(drop_c, significant=True, shares=tuple(shares))


def _by_index(form: str) -> Callable[[float, float, float], float]:
    def share(clean_c: float, found_c: float, light_c: float) -> float:
        clean, found, light = (math.exp(ln_index(form, t)) for t in (clean_c, found_c, light_c))
        return (found - clean) / (light - clean)

    return share


def _by_pseudo_components(clean_c: float, found_c: float, light_c: float) -> float:
    """Return the share at which Liaw's sum of two pseudo-components is one at the found value."""
    heavy, light = surrogate(clean_c), surrogate(light_c)
    at = found_c + KELVIN
    of_heavy, of_light = _ratio(heavy, clean_c, at), _ratio(light, light_c, at)
    x = (1 - of_heavy) / (of_light - of_heavy)
    volumes = x * _molar_volume(light), (1 - x) * _molar_volume(heavy)
    return volumes[0] / sum(volumes)


def _ratio(pseudo: PseudoComponents, flash_c: float, temperature_k: float) -> float:
    logs = pseudo.ln_vapour_pressure(np.array([temperature_k, flash_c + KELVIN]))[0]
    return math.exp(logs[0] - logs[1])


def _molar_volume(pseudo: PseudoComponents) -> float:
    return float(pseudo.molar_mass_g_mol[0] / pseudo.relative_density[0])
