"""How far an estimate may be trusted: a nominal 95 % interval, part by part.

The parts are independent: the pure flash points (spread of their sources, passed through the sum),
the model by kind of blend, vapour pressures used outside their range, and the declared amounts
where their uncertainty is given. Each is shown with the half width that it has alone; the interval
is drawn from all of them together (`monte_carlo`). What is not in it: that the composition is
wrong or incomplete, that the sample has lost vapour, and the scatter of the test.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.mixtures.flash_point import KELVIN, FlashSum, solve
from closedcup.mixtures.liquids import Liquid, bibliography, data_file
from closedcup.mixtures.pure_values import PureFlash
from closedcup.mixtures.vapour_pressure import ln_vapour_pressure
from closedcup.quantities.pressure import STANDARD_KPA
from closedcup.sources import Known, load_rows, parse_known

Array = NDArray[np.float64]

COVERAGE: Final = 0.95
FAMILIES: Final = (
    "hydrocarbons and alcohols", "other organic", "aqueous", "inert-rich", "two liquids"
)  # fmt: skip
# Above this mole fraction of inert liquid the constant-limit assumption is known to fail.
INERT_RICH: Final = 0.9
# For each vapour pressure extrapolated at the root (our judgement: a few per cent of pressure per
# ten kelvin, at about 5 % per kelvin).
EXTRAPOLATION_C: Final = 3.0


@dataclass(frozen=True, slots=True)
class Part:
    """One contribution to the interval: half of its own nominal 95 % width."""

    covers: str
    half_width_c: float
    source: str
    known: Known

    def as_json(self) -> dict[str, object]:
        """Return the entry of `interval_covers`."""
        return {
            "covers": self.covers,
            "half_width_c": round(self.half_width_c, 2),
            "source": self.source,
            "known": self.known,
        }


@cache
def _model_errors() -> Mapping[tuple[str, str], dict[str, str]]:
    rows = load_rows(data_file("model_error.csv"), bibliography())
    return {(row["model"], row["family"]): row for row in rows}


def family_of(liquids: Sequence[Liquid], inert_fraction: float, liquid_phases: int) -> str:
    """Return the kind of blend for which a model's error is known: one of `FAMILIES`."""
    if liquid_phases > 1:
        family = "two liquids"
    elif inert_fraction >= INERT_RICH:
        family = "inert-rich"
    elif inert_fraction > 0:
        family = "aqueous"
    elif all(liquid.is_hydrocarbon or liquid.chemical_class == "alcohol" for liquid in liquids):
        family = "hydrocarbons and alcohols"
    else:
        family = "other organic"
    return family


def model_part(model: str, family: str, spread_c: float = 0.0) -> Part:
    """Return the model's own error for a kind of blend.

    It is never less than `spread_c`, the furthest that another model of the same liquids lies
    off: where models disagree by more than their usual error, that error is not the usual one.
    """
    errors = _model_errors()
    row = errors[model if (model, family) in errors else "own parameters", family]
    judged_c = float(row["half_width_c"])
    note = row["note"]
    if spread_c > judged_c:
        note = f"widened from {judged_c:g} °C: another model lies {spread_c:.1f} °C off"
    return Part(
        f"the {model} model for blends of the kind “{family}” ({note})",
        max(judged_c, spread_c),
        " + ".join(bibliography().cite(key) for key in row["source"].split(" + ")),
        parse_known(row["known"], where="model_error.csv"),
    )


def pure_parts(
    flash_sum: FlashSum,
    liquids: Sequence[Liquid],
    pures: Sequence[PureFlash],
    composition: Array,
    flash_c: float,
) -> list[Part]:
    """Return what the pure values' uncertainties do to the blend's flash point.

    Each liquid's spread is a part of its own. The offset between handbook figures and the
    reference figures of apparatus families is shared by all liquids, so it adds up plainly.
    """
    parts, shared_c = [], 0.0
    weights = _weights(flash_sum, composition, flash_c)
    for liquid, pure, weight in zip(liquids, pures, weights, strict=True):
        if not math.isnan(pure.flash_c):
            covers = f"the flash point of {liquid.name} (±{pure.half_width_c:g} °C)"
            half_width_c = abs(weight) * pure.half_width_c
            parts.append(Part(covers, half_width_c, pure.origin, pure.known))
            shared_c += weight * pure.to_other_cups_c
    if shared_c:
        parts.append(other_cups_part(shared_c))
    return parts


def other_cups_part(offset_c: float) -> Part:
    """Return the part for not knowing which family of cups will be used.

    The flash point lies anywhere from the handbook's to that of the furthest family.
    """
    return Part(
        f"the family of cups: reference figures by apparatus lie up to {offset_c:+.1f} °C from "
        "handbook values",
        abs(offset_c) / 2,
        "reference figures of the test methods",
        "memory",
    )


def _weights(flash_sum: FlashSum, composition: Array, flash_c: float) -> list[float]:
    """Return how far the root moves for a shift of each pure flash point; nan for inert liquids.

    With w_i the share of liquid i in the sum, it is w_i (d ln p_i/dT at T_flash,i) divided by
    (d ln Σ/dT at the root).
    """
    root_k = np.array([flash_c + KELVIN])
    steps = np.array([-0.5, 0.5])
    around = flash_sum.ln_sum(np.tile(composition, (2, 1)), root_k + steps)
    weights = np.full(len(composition), np.nan)
    terms = flash_sum.terms(composition[None, :], root_k)[0]
    weights[flash_sum.flammable] = terms / terms.sum() / (around[1] - around[0])
    for i in np.flatnonzero(flash_sum.flammable):
        at_flash = ln_vapour_pressure(flash_sum.correlations[i], flash_sum.flash_k[i] + steps)
        weights[i] *= at_flash[1] - at_flash[0]
    return [float(weight) for weight in weights]


def extrapolation_parts(
    liquids: Sequence[Liquid], pures: Sequence[PureFlash], flash_c: float
) -> list[Part]:
    """Return a part for each vapour pressure used outside its published range."""
    parts = []
    for liquid, pure in zip(liquids, pures, strict=True):
        correlation = liquid.vapour_pressure
        if correlation is None or math.isnan(pure.flash_c):
            continue
        outside = [t for t in (flash_c, pure.flash_c) if not correlation.holds(t + KELVIN)]
        if outside:
            span = f"{correlation.low_k - KELVIN:.0f} to {correlation.high_k - KELVIN:.0f} °C"
            covers = f"the vapour pressure of {liquid.name}, used outside its range ({span})"
            parts.append(Part(covers, EXTRAPOLATION_C, "our judgement", "common practice"))
    return parts


def amounts_part(
    flash_sum: FlashSum, mole_fractions: Array, relative_uncertainty: float
) -> Part | None:
    """Return what the declared amounts' relative standard uncertainty does to the flash point.

    Each amount is raised in turn by twice its standard uncertainty; the shifts add as squares.
    """
    count = len(mole_fractions)
    if relative_uncertainty <= 0 or count == 1:
        return None
    raised = mole_fractions * (1 + 2 * relative_uncertainty * np.eye(count))
    rows = np.vstack([mole_fractions, raised / raised.sum(axis=1, keepdims=True)])
    flash_c = solve(flash_sum, rows, STANDARD_KPA).flash_c
    shift = float(np.sqrt(np.nansum((flash_c[1:] - flash_c[0]) ** 2)))
    covers = f"the declared amounts (each ±{100 * relative_uncertainty:g} % of itself, standard)"
    return Part(covers, shift, "given with the composition", "user")


def combined_half_width_c(parts: Sequence[Part]) -> float:
    """Return the root of the sum of squares of the parts."""
    return math.sqrt(math.fsum(part.half_width_c**2 for part in parts))
