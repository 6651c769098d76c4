"""The estimate of a blend's flash point: the number, its interval, and how it came about."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.errors import InputError, Refused
from closedcup.mixtures import explanation
from closedcup.mixtures.activity import (
    DEFAULT,
    MODELS,
    ActivityModel,
    Ideal,
    PairParameters,
    activity_model,
)
from closedcup.mixtures.blend import Blend
from closedcup.mixtures.flash_point import KELVIN, FlashSum
from closedcup.mixtures.interval import (
    COVERAGE,
    Part,
    amounts_part,
    combined_half_width_c,
    extrapolation_parts,
    family_of,
    model_part,
    other_cups_part,
    pure_parts,
)
from closedcup.mixtures.model_spread import OtherModel, other_models, spread_c
from closedcup.mixtures.monte_carlo import drawn_flash_c, interval_c
from closedcup.mixtures.pure_values import PureFlash, correlations_of, pure_flashes
from closedcup.mixtures.reach import reaches
from closedcup.mixtures.resin import resin_effect
from closedcup.mixtures.two_liquids import TwoLiquidRoots, solve_with_split

# The rule of the closed-cup methods: corrected = observed + 0.25 °C/kPa × (101.3 kPa − p)
# (memory). Predictions of what the cup shows use it, so that they meet the methods' correction.
RULE_C_PER_KPA: Final = 0.25
RULE_KPA: Final = 101.3


@dataclass(frozen=True, slots=True)
class Component:
    """One liquid of the blend: its mole fraction and the flash point taken for it, if it burns."""

    name: str
    cas: str
    mole_fraction: float
    flash_c: float | None


@dataclass(frozen=True, slots=True)
class Estimate:
    """A calculated flash point; never a test result.

    `flash_c`, `low_c` and `high_c` are on the corrected scale (101.3 kPa), the interval nominally
    at `coverage`. `cup_flash_c` is what the cup would show at `pressure_kpa` by the methods'
    linear rule, `model_cup_flash_c` the root of the sum at that pressure; both None without a
    pressure. `liquid_phases` counts liquids at the flash point, as far as the model can tell.
    `others` holds what other models of activity say of the same blend.
    """

    flash_c: float
    low_c: float
    high_c: float
    coverage: float
    activity: str
    pressure_kpa: float | None
    cup_flash_c: float | None
    model_cup_flash_c: float | None
    liquid_phases: int
    components: tuple[Component, ...]
    others: tuple[OtherModel, ...]
    parts: tuple[Part, ...]
    warnings: tuple[str, ...]
    sources: tuple[Mapping[str, str], ...]
    steps: tuple[Mapping[str, object], ...]

    def as_json(self) -> dict[str, object]:
        """Return the object that programs read; temperatures to a thousandth of a degree."""
        result: dict[str, object] = {
            "flash_point_c": round(self.flash_c, 3),
            "low_c": round(self.low_c, 3),
            "high_c": round(self.high_c, 3),
            "coverage": self.coverage,
            "interval_covers": [part.as_json() for part in self.parts],
            "activity": self.activity,
            "other_models": [other.as_json() for other in self.others],
            "liquid_phases": self.liquid_phases,
            "components": [
                {
                    "name": component.name,
                    "cas": component.cas,
                    "mole_fraction": round(component.mole_fraction, 6),
                    "flash_point_c": component.flash_c,
                }
                for component in self.components
            ],
            "warnings": list(self.warnings),
            "sources": [dict(source) for source in self.sources],
            "steps": [dict(step) for step in self.steps],
        }
        if self.pressure_kpa is not None and self.cup_flash_c is not None:
            model_c = self.model_cup_flash_c
            result["pressure_kpa"] = self.pressure_kpa
            result["cup_flash_point_c"] = round(self.cup_flash_c, 3)
            result["model_cup_flash_point_c"] = None if model_c is None else round(model_c, 3)
        return result


def estimate(  # noqa: PLR0913 - each choice is made by name, none depends on another
    blend: Blend,
    *,
    activity: str = DEFAULT,
    parameters: PairParameters | None = None,
    pressure_kpa: float | None = None,
    cup_family: str | None = None,
    own_flash_c: Mapping[str, float] | None = None,
    amount_uncertainty: float = 0.0,
) -> Estimate:
    """Estimate the closed-cup flash point of a liquid or blend.

    `activity` is "default", "unifac", "dortmund" or "ideal"; `parameters` of NRTL, Wilson or
    UNIQUAC take its place where given; `pressure_kpa` is the pressure at the cup; `cup_family` asks
    for reference figures of one family of apparatus; `own_flash_c` holds the laboratory's own pure
    flash points by CAS number (corrected scale); `amount_uncertainty` is the relative standard
    uncertainty of each amount. Raises Refused of the kinds `no-flash`, `masking`,
    `activity-parameters-missing`, `vapour-pressure-missing` or `flash-point-missing`, and
    InputError for an unknown model, family or component.
    """
    if parameters is not None:
        activity = parameters.model
    pures = pure_flashes(blend.liquids, cup_family=cup_family, own_flash_c=own_flash_c)
    if all(math.isnan(pure.flash_c) for pure in pures):
        raise _no_flash("none of its liquids burns")
    if blend.is_pure and not blend.involatile and blend.liquids[0].vapour_pressure is None:
        return _from_pure_value_alone(blend, pures[0], activity, pressure_kpa)
    given, correlations = pures, correlations_of(blend.liquids)
    resin = resin_effect(blend, pures, correlations)
    if resin is not None:
        pures = resin.pures
    flash_sum = FlashSum(
        model=_model(blend, activity, parameters),
        correlations=correlations,
        flash_k=np.array([pure.flash_c for pure in pures]) + KELVIN,
    )
    if activity == DEFAULT:
        activity = flash_sum.model.name
    x = np.array([blend.mole_fractions])
    solved = solve_with_split(flash_sum, blend.liquids, x)
    if solved.roots.no_flash[0]:
        raise _no_flash(str(solved.roots.no_flash[0]))
    flash_c = float(solved.roots.flash_c[0])
    others = other_models(flash_sum, blend.liquids, x[0])
    spread = spread_c(others, flash_c)
    drawn_parts, added_parts = _parts(blend, pures, flash_sum, solved, amount_uncertainty, spread)
    if resin is not None:
        added_parts.append(resin.part)
    low_c, high_c = _bounds_c(pures, flash_sum, solved, amount_uncertainty, added_parts)
    for reach in reaches(blend, pures, flash_c):
        added_parts.append(reach.part)
        low_c, high_c = low_c + reach.lower_c, high_c + reach.upper_c
    parts = [*drawn_parts, *added_parts]
    model_cup_c = _model_cup_c(flash_sum, blend, pressure_kpa)
    cup_c = None if pressure_kpa is None else cup_scale_c(flash_c, pressure_kpa)
    return Estimate(
        flash_c=flash_c,
        low_c=low_c,
        high_c=high_c,
        coverage=COVERAGE,
        activity=activity,
        pressure_kpa=pressure_kpa,
        cup_flash_c=cup_c,
        model_cup_flash_c=model_cup_c,
        liquid_phases=int(solved.liquid_phases[0]),
        components=_components(blend, given),
        others=others,
        parts=tuple(parts),
        warnings=(
            *explanation.warnings(blend, given, solved, activity, pressure_kpa),
            *([] if resin is None else [resin.warning]),
        ),
        sources=(
            *explanation.sources(blend, given, flash_sum, pressure_kpa),
            *([] if resin is None else [resin.source()]),
        ),
        steps=(
            explanation.composition_step(blend),
            explanation.pure_values_step(blend, given),
            *([] if resin is None else [resin.step]),
            explanation.phases_step(blend, solved),
            explanation.sum_step(blend, flash_sum, solved),
            *explanation.other_models_steps(flash_c, activity, others),
            explanation.interval_step(parts, low_c, high_c),
            *explanation.pressure_steps(flash_c, pressure_kpa, cup_c, model_cup_c),
        ),
    )


def _model(blend: Blend, activity: str, parameters: PairParameters | None) -> ActivityModel:
    """Make the model asked for; a pure liquid has an activity coefficient of one in any."""
    if blend.is_pure and (parameters is not None or activity in (DEFAULT, *MODELS)):
        return Ideal(blend.liquids)
    return activity_model(activity, blend.liquids, parameters)


def cup_scale_c(corrected_c: float, pressure_kpa: float) -> float:
    """Return what the cup shows at a pressure, by the methods' linear rule."""
    return corrected_c - RULE_C_PER_KPA * (RULE_KPA - pressure_kpa)


def _model_cup_c(flash_sum: FlashSum, blend: Blend, pressure_kpa: float | None) -> float | None:
    if pressure_kpa is None:
        return None
    if not 20 <= pressure_kpa <= 120:
        raise InputError(
            "impossible-pressure",
            f"{pressure_kpa:g} kPa is not the pressure of an open laboratory.",
            where="pressure",
            fix="Give the station pressure in kilopascal.",
        )
    x = np.array([blend.mole_fractions])
    found = solve_with_split(flash_sum, blend.liquids, x, pressure_kpa).roots.flash_c[0]
    return None if np.isnan(found) else float(found)


def _parts(  # noqa: PLR0913, PLR0917 - what the parts are made from
    blend: Blend,
    pures: tuple[PureFlash, ...],
    flash_sum: FlashSum,
    solved: TwoLiquidRoots,
    amount_uncertainty: float,
    spread: float,
) -> tuple[list[Part], list[Part]]:
    """Return the parts that act through the sum, and those that add to the result."""
    flash_c = float(solved.roots.flash_c[0])
    composition = solved.composition[0]
    inert = sum(
        fraction
        for fraction, pure in zip(blend.mole_fractions, pures, strict=True)
        if math.isnan(pure.flash_c)
    )
    phases = max(int(solved.liquid_phases[0]), 2 if solved.undecided[0] else 1)
    family = family_of(blend.liquids, inert, phases)
    amounts = amounts_part(flash_sum, np.array(blend.mole_fractions), amount_uncertainty)
    drawn = pure_parts(flash_sum, blend.liquids, pures, composition, flash_c)
    added = extrapolation_parts(blend.liquids, pures, flash_c)
    if amounts is not None:
        drawn.append(amounts)
    if not blend.is_pure:
        added.insert(0, model_part(flash_sum.model.name, family, spread))
    return drawn, added


def _bounds_c(
    pures: tuple[PureFlash, ...],
    flash_sum: FlashSum,
    solved: TwoLiquidRoots,
    amount_uncertainty: float,
    added: list[Part],
) -> tuple[float, float]:
    """Draw the interval; where the split is not decided it holds both answers.

    Between two liquids the flash point does not move with the amounts, so they are not drawn.
    """
    flash_c, parted = float(solved.roots.flash_c[0]), bool(solved.liquid_phases[0] > 1)
    drawn = drawn_flash_c(
        flash_sum,
        pures,
        solved.composition[0],
        flash_c,
        amount_uncertainty=0.0 if parted else amount_uncertainty,
        added_half_width_c=combined_half_width_c(added),
    )
    low_c, high_c = interval_c(drawn, COVERAGE)
    as_one = float(solved.as_one_liquid.flash_c[0])
    if solved.undecided[0] and not math.isnan(as_one):
        shift = as_one - flash_c
        low_c, high_c = low_c + min(shift, 0.0), high_c + max(shift, 0.0)
    return low_c, high_c


def _components(blend: Blend, pures: tuple[PureFlash, ...]) -> tuple[Component, ...]:
    return tuple(
        Component(liquid.name, liquid.cas, x, None if math.isnan(pure.flash_c) else pure.flash_c)
        for liquid, x, pure in zip(blend.liquids, blend.mole_fractions, pures, strict=True)
    )


def _from_pure_value_alone(
    blend: Blend, pure: PureFlash, activity: str, pressure_kpa: float | None
) -> Estimate:
    """Answer for a pure liquid without a vapour-pressure correlation: its own value, no sum."""
    liquid = blend.liquids[0]
    parts = [Part(f"the flash point of {liquid.name}", pure.half_width_c, pure.origin, pure.known)]
    if pure.to_other_cups_c:
        parts.append(other_cups_part(pure.to_other_cups_c))
    low_c = pure.flash_c - pure.half_width_c + min(pure.to_other_cups_c, 0.0)
    high_c = pure.flash_c + pure.half_width_c + max(pure.to_other_cups_c, 0.0)
    cup_c = None if pressure_kpa is None else cup_scale_c(pure.flash_c, pressure_kpa)
    notes = ["From tables, not a test result."] + [pure.warning] * bool(pure.warning)
    lacking = f"No vapour-pressure correlation is known for {liquid.name}: no sum was solved."
    return Estimate(
        flash_c=pure.flash_c,
        low_c=low_c,
        high_c=high_c,
        coverage=COVERAGE,
        activity=activity,
        pressure_kpa=pressure_kpa,
        cup_flash_c=cup_c,
        model_cup_flash_c=None,
        liquid_phases=1,
        components=_components(blend, (pure,)),
        others=(),
        parts=tuple(parts),
        warnings=(*notes, lacking),
        sources=(explanation.flash_source(liquid, pure),),
        steps=(
            explanation.composition_step(blend),
            explanation.pure_values_step(blend, (pure,)),
            explanation.interval_step(parts, low_c, high_c),
            *explanation.pressure_steps(pure.flash_c, pressure_kpa, cup_c, None),
        ),
    )


def _no_flash(reason: str) -> Refused:
    return Refused(
        "no-flash",
        f"No flash point can be calculated for this blend: {reason}.",
        where="composition",
        fix="Test it from cold up to boiling if it must be known. "
        "No flash does not mean that the liquid is not flammable.",
    )
