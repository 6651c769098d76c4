"""Why an estimate says what it says: warnings, sources, and the steps that re-derive it."""

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from closedcup.mixtures.blend import Blend
from closedcup.mixtures.calculation_scope import outside_scope
from closedcup.mixtures.flash_point import KELVIN, FlashSum
from closedcup.mixtures.interval import INERT_RICH, Part, extrapolation_parts
from closedcup.mixtures.liquids import Liquid, bibliography
from closedcup.mixtures.model_spread import OtherModel
from closedcup.mixtures.pure_values import PureFlash
from closedcup.mixtures.two_liquids import DECIDED_K, TwoLiquidRoots
from closedcup.mixtures.vapour_pressure import vapour_pressure_kpa

Step = Mapping[str, object]


def composition_step(blend: Blend) -> Step:
    """Return the mole fractions and how they came from what was declared."""
    entries = [
        {"name": liquid.name, "declared": declared, "mole_fraction": x}
        for liquid, declared, x in zip(
            blend.liquids, blend.declared, blend.mole_fractions, strict=True
        )
    ]
    means = {
        "mole": "mole fractions as declared",
        "mass": "mass fraction / molar mass, made to sum to one",
        "volume": "volume fraction × density at 20 °C / molar mass, made to sum to one",
    }[blend.basis]
    text = f"Mole fractions: {means}."
    resin = blend.involatile
    if resin is not None:
        taken = "taken as" if resin.is_assumed else "of"
        text += (
            f" Those of the liquids alone; the resin ({resin.fraction:.3g} by {blend.basis}, "
            f"{taken} {resin.molar_mass_g_mol:g} g/mol) is kept apart."
        )
    return {"step": "composition", "text": text, "components": entries}


def pure_values_step(blend: Blend, pures: Sequence[PureFlash]) -> Step:
    """Return the flash point taken for each liquid that burns, and who says so."""
    values = [
        {
            "name": liquid.name,
            "flash_point_c": pure.flash_c,
            "half_width_c": pure.half_width_c,
            "origin": flash_source(liquid, pure)["source"],
            "known": pure.known,
        }
        for liquid, pure in zip(blend.liquids, pures, strict=True)
        if not math.isnan(pure.flash_c)
    ]
    said = "; ".join(
        f"{value['name']} {value['flash_point_c']} °C: {value['origin']}" for value in values
    )
    return {"step": "pure flash points", "text": f"Pure values: {said}.", "values": values}


def phases_step(blend: Blend, solved: TwoLiquidRoots) -> Step:
    """Return how many liquids there are at the flash point, and what they are made of."""
    if solved.liquid_phases[0] == 1:
        text = "One liquid: the blend passed the stability test at its flash point."
        if blend.is_pure:
            text = "One liquid: it is pure."
        elif solved.spurious[0]:
            text = "One liquid: the model parts it, the handbooks say that its liquids mix."
        return {"step": "liquid phases", "text": text, "liquid_phases": 1}
    every = (solved.composition, solved.other_composition, solved.third_composition)
    count = int(solved.liquid_phases[0])
    parted = [
        {liquid.name: float(x) for liquid, x in zip(blend.liquids, phase[0], strict=True)}
        for phase in every[:count]
    ]
    word = {2: "Two", 3: "Three"}[count]
    text = f"{word} liquids of equal activities; the sum is taken in the first."
    return {"step": "liquid phases", "text": text, "liquid_phases": count,
            "mole_fractions": parted}  # fmt: skip


def sum_step(blend: Blend, flash_sum: FlashSum, solved: TwoLiquidRoots) -> Step:
    """Return the terms of the sum at the root; they add up to the right side."""
    flash_c = float(solved.roots.flash_c[0])
    x = solved.composition[0]
    root_k = np.array([flash_c + KELVIN])
    gamma = np.exp(flash_sum.model.ln_gamma(x[None, :], root_k)[0])
    terms = []
    for i, liquid in enumerate(blend.liquids):
        pressure = float(vapour_pressure_kpa(flash_sum.correlations[i], flash_c))
        term: dict[str, object] = {
            "name": liquid.name,
            "mole_fraction": float(x[i]),
            "gamma": float(gamma[i]),
            "vapour_pressure_kpa": pressure,
        }
        if flash_sum.flammable[i]:
            own_c = float(flash_sum.flash_k[i]) - KELVIN
            at_flash = float(vapour_pressure_kpa(flash_sum.correlations[i], own_c))
            term["vapour_pressure_at_its_flash_point_kpa"] = at_flash
            term["term"] = float(x[i] * gamma[i]) * pressure / at_flash
        terms.append(term)
    total = math.fsum(float(str(term["term"])) for term in terms if "term" in term)
    text = (
        f"At {flash_c:.2f} °C the sum of x γ p(T)/p(T_flash) over the liquids that burn is "
        f"{total:.6f}; the flash point is where it is 1."
    )
    return {"step": "sum", "text": text, "flash_point_c": flash_c, "terms": terms, "sum": total}


def other_models_steps(
    flash_c: float, activity: str, others: Sequence[OtherModel]
) -> Iterator[Step]:
    """Yield what other models say of the same blend, where there are any."""
    if not others:
        return
    found = [
        f"{other.activity} {other.flash_c:.2f} °C ({other.flash_c - flash_c:+.2f} °C)"
        if other.flash_c is not None
        else f"{other.activity}: none ({other.reason.rstrip('.')})"
        for other in others
    ]
    yield {
        "step": "other models",
        "text": f"Beside {activity} {flash_c:.2f} °C: {'; '.join(found)}. Models share data: "
        "a small spread proves nothing, a large one warns.",
        "other_models": [other.as_json() for other in others],
    }


def interval_step(parts: Sequence[Part], low_c: float, high_c: float) -> Step:
    """Return the parts of the interval, each with the half width that it has alone."""
    return {
        "step": "interval",
        "text": f"{low_c:.1f} to {high_c:.1f} °C: all parts drawn together through the sum. Not in "
        "it: a wrong or incomplete composition, vapour lost from the sample, the scatter of the "
        "test.",
        "parts": [part.as_json() for part in parts],
    }


def pressure_steps(
    flash_c: float, pressure_kpa: float | None, cup_c: float | None, model_c: float | None
) -> Iterator[Step]:
    """Yield the step from the corrected scale to what the cup shows, when a pressure is given."""
    if pressure_kpa is None or cup_c is None:
        return
    text = (
        f"At {pressure_kpa:g} kPa the cup shows {cup_c:.2f} °C: {flash_c:.2f} °C less "
        f"0.25 °C/kPa × (101.3 kPa − {pressure_kpa:g} kPa), the rule of the test methods."
    )
    if model_c is not None:
        text += (
            f" The sum solved at that pressure gives {model_c:.2f} °C, "
            f"{model_c - cup_c:+.2f} °C from the rule."
        )
    yield {
        "step": "pressure",
        "text": text,
        "pressure_kpa": pressure_kpa,
        "cup_flash_point_c": cup_c,
        "model_cup_flash_point_c": model_c,
    }


def warnings(
    blend: Blend,
    pures: Sequence[PureFlash],
    solved: TwoLiquidRoots,
    activity: str,
    pressure_kpa: float | None,
) -> tuple[str, ...]:
    """Return what the reader must know before using the number."""
    found = ["Calculated, not a test result."]
    found += [pure.warning for pure in pures if pure.warning]
    found += _spread_warnings(blend, pures)
    flash_c = float(solved.roots.flash_c[0])
    outside = extrapolation_parts(blend.liquids, pures, flash_c)
    found += [f"Extrapolated: {part.covers}." for part in outside]
    found += _kind_warnings(blend, pures, activity)
    found += _phase_warnings(blend, solved, activity)
    found += _frozen_warnings(blend, flash_c)
    if pressure_kpa is not None and pressure_kpa < 82:
        found.append("Below 82 kPa the methods' linear pressure rule is not established.")
    return tuple(found)


def _spread_warnings(blend: Blend, pures: Sequence[PureFlash]) -> Iterator[str]:
    for liquid, pure in zip(blend.liquids, pures, strict=True):
        if pure.half_width_c > 5 and pure.cup == "handbook":
            yield (
                f"Sources disagree on pure {liquid.name} ({pure.flash_c:g} °C, "
                f"±{pure.half_width_c:g} °C); a measured value of your own would narrow this."
            )
        if abs(pure.to_other_cups_c) > 2:
            yield (
                f"Reference figures of {liquid.name} by apparatus lie up to "
                f"{pure.to_other_cups_c:+.1f} °C from its handbook value ({pure.flash_c:g} °C); "
                "naming the family of cups would narrow this."
            )


def _kind_warnings(blend: Blend, pures: Sequence[PureFlash], activity: str) -> Iterator[str]:
    inert = sum(
        x for x, pure in zip(blend.mole_fractions, pures, strict=True) if math.isnan(pure.flash_c)
    )
    if inert >= INERT_RICH:
        yield (
            "Rich in water: the assumption of a constant flammable limit is reported to fail here "
            "and published tables differ (ethanol, 5 % by volume: 62 and 81 °C); the flash point "
            "may lie well above the estimate."
        )
    if activity == "ideal" and not blend.is_pure:
        yield (
            "Ideal liquid assumed, as asked: a blend of unlike liquids usually flashes well below "
            "the ideal value, some below either component."
        )
    if blend.basis == "volume" and not blend.is_pure:
        yield "Volume fractions are taken as the liquids' volumes before mixing, at 20 °C."
    outside = outside_scope(blend)
    if outside:
        yield f"Outside what GHS and CLP 2.6.4.2 accept a calculated flash point for: {outside}."


def _phase_warnings(blend: Blend, solved: TwoLiquidRoots, activity: str) -> Iterator[str]:
    if solved.liquid_phases[0] > 1:
        word = {2: "two", 3: "three"}[int(solved.liquid_phases[0])]
        yield (
            f"Parts into {word} liquids at its flash point: what is drawn for a specimen depends "
            "on shaking; the estimate holds for the mixed sample."
        )
    if solved.undecided[0]:
        yield (
            f"Whether it parts is not decided: the split is gone within {DECIDED_K:g} °C of the "
            "flash point, which is within the model's error. The interval holds both answers."
        )
    if solved.spurious[0]:
        yield (
            "The model parts this blend into two liquids; its liquids are on record as miscible, "
            "so one liquid is assumed."
        )
    if solved.third[0]:
        yield (
            "One of the two liquids is itself unstable by the model: a third liquid is possible, "
            "and the estimate was made on two."
        )
    if activity == "ideal" and not blend.is_pure:
        yield "Whether it parts into two liquids cannot be decided with the ideal form."


def _frozen_warnings(blend: Blend, flash_c: float) -> Iterator[str]:
    for liquid, x in zip(blend.liquids, blend.mole_fractions, strict=True):
        melting = liquid.properties.get("melting_c")
        if melting is not None and x > 0.5 and melting.value > flash_c:
            yield (
                f"{liquid.name} melts at {melting.value:g} °C, above the estimate: the specimen "
                "may be solid there."
            )


def flash_source(liquid: Liquid, pure: PureFlash) -> Mapping[str, str]:
    """Return the source of a pure flash point."""
    origin = pure.origin
    if origin in bibliography().citations:
        origin = bibliography().cite(origin)
    return {"value_of": f"flash point of {liquid.name}", "source": origin, "known": pure.known}


def sources(
    blend: Blend, pures: Sequence[PureFlash], flash_sum: FlashSum, pressure_kpa: float | None
) -> tuple[Mapping[str, str], ...]:
    """Return one entry for every number that the estimate rests on."""
    cite = bibliography().cite
    found = [
        flash_source(liquid, pure)
        for liquid, pure in zip(blend.liquids, pures, strict=True)
        if not math.isnan(pure.flash_c)
    ]
    for liquid, correlation in zip(blend.liquids, flash_sum.correlations, strict=True):
        found.append({
            "value_of": f"vapour pressure of {liquid.name}",
            "source": cite(correlation.source),
            "known": correlation.known,
        })  # fmt: skip
        density = liquid.properties.get("density_20c_kg_m3")
        if blend.basis == "volume" and density is not None:
            found.append({
                "value_of": f"density of {liquid.name}",
                "source": cite(density.source),
                "known": density.known,
            })  # fmt: skip
    if not blend.is_pure:
        model = flash_sum.model
        text = model.source if model.known == "user" else cite(model.source)
        found.append({"value_of": "activity coefficients", "source": text, "known": model.known})
    found.append(
        {"value_of": "criterion of the sum", "source": cite("liaw-2002"), "known": "memory"}
    )
    if pressure_kpa is not None:
        text = cite("pressure-rule")
        found.append({"value_of": "cup flash point", "source": text, "known": "memory"})
    return tuple(found)
