"""How well the estimates of flash points and flammable limits do; saturation over the limit."""

import math
from collections.abc import Iterator

import numpy as np

from closedcup.mixtures import flammable_limit
from closedcup.mixtures.consensus import ENOUGH_FAMILIES
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.physics_check import saturation_over_limit
from closedcup.mixtures.pure_estimates import ENOUGH_LIQUIDS, FORMS, within_95
from liquid_tables.flash import medians


def well_known(liquids: list[Liquid]) -> list[Liquid]:
    """Return the flammable liquids whose consensus stands on enough families."""
    return [
        liquid
        for liquid in liquids
        if liquid.role == "flammable" and len(medians(liquid)) >= ENOUGH_FAMILIES
    ]


def form_errors(liquids: list[Liquid]) -> Iterator[tuple[object, ...]]:
    """Yield the error of each form by class of liquid, and over all."""
    for form, function in FORMS.items():
        by_class: dict[str, list[float]] = {"all": []}
        for liquid in well_known(liquids):
            value, consensus = function(liquid), liquid.flash_point()
            if value is not None and consensus is not None:
                by_class["all"].append(value - consensus.value_c)
                by_class.setdefault(liquid.chemical_class, []).append(value - consensus.value_c)
        for name, errors in sorted(by_class.items()):
            if name == "all" or len(errors) >= ENOUGH_LIQUIDS:
                yield form, name, *_summary(errors), "measured", "package"


def _summary(errors: list[float]) -> tuple[object, ...]:
    distances = np.abs(errors)
    return (
        len(errors),
        round(float(np.mean(distances)), 2),
        round(float(np.median(errors)), 2),
        math.ceil(10 * within_95(errors)) / 10,
        round(float(np.max(distances)), 1),
    )


def limit_errors(liquids: list[Liquid]) -> Iterator[tuple[object, ...]]:
    """Yield by what factor each form misses the flammable limits on record, by class and over all.

    Halogenated liquids have no say: no estimate is made of them.
    """
    recorded = [each for each in liquids if each.role == "flammable"]
    for form, function in flammable_limit.FORMS.items():
        by_class: dict[str, list[float]] = {"all": []}
        for liquid in recorded:
            value, limit = function(liquid), liquid.properties.get("lfl_percent")
            if value is not None and limit is not None:
                ratio = value / limit.value
                by_class["all"].append(ratio)
                by_class.setdefault(liquid.chemical_class, []).append(ratio)
        for name, ratios in sorted(by_class.items()):
            if name == "all" or len(ratios) >= ENOUGH_LIQUIDS:
                factor = math.exp(within_95([math.log(ratio) for ratio in ratios]))
                median = round(float(np.median(ratios)), 2)
                rounded = math.ceil(100 * factor) / 100
                yield form, name, len(ratios), median, rounded, "measured", "package"


def saturation_bands(liquids: list[Liquid]) -> Iterator[tuple[object, ...]]:
    """Yield the band that 90 % of the well-known liquids keep, by kind of limit."""
    for kind in (flammable_limit.ON_RECORD, "estimated"):
        ratios = [
            ratio
            for liquid in well_known(liquids)
            if (found := liquid.flash_point()) is not None
            and (limit := _limit(liquid, kind)) is not None
            and (ratio := saturation_over_limit(liquid, found.value_c, limit)) is not None
        ]
        ends = (round(float(value), 2) for value in np.quantile(ratios, (0.05, 0.5, 0.95)))
        yield kind, *ends, len(ratios), "measured", "package"


def _limit(liquid: Liquid, kind: str) -> flammable_limit.LowerLimit | None:
    if kind == "estimated":
        return flammable_limit.estimated_limit(liquid)
    found = flammable_limit.lower_limit(liquid)
    return None if found is None or found.is_estimated else found
