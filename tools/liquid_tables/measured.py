"""How well the estimates of pure flash points do, and the band of saturation over the limit."""

import math
from collections.abc import Iterator

import numpy as np

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


def saturation_band(liquids: list[Liquid]) -> tuple[object, ...]:
    """Return the band that 90 % of the well-known liquids with a limit on record keep."""
    ratios = [
        ratio
        for liquid in well_known(liquids)
        if (found := liquid.flash_point()) is not None
        and (ratio := saturation_over_limit(liquid, found.value_c)) is not None
    ]
    low, median, high = (float(value) for value in np.quantile(ratios, (0.05, 0.5, 0.95)))
    return round(low, 2), round(median, 2), round(high, 2), len(ratios), "measured", "package"
