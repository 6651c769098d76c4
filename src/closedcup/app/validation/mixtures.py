"""Predicted flash points, activities, vapour pressures and solubilities beside published ones."""

from collections.abc import Iterator

import numpy as np

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.interval_scores import shipped
from closedcup.app.validation.mixture_points import BIBLIOGRAPHY, DATA, Row, compare, points
from closedcup.app.validation.published_blends import all_series, basis_of
from closedcup.mixtures import (
    activity_model,
    blend,
    find,
    flash_points_c,
    vapour_pressure_kpa,
)
from closedcup.mixtures.estimate import cup_scale_c
from closedcup.mixtures.phase_split import split, unstable_trials
from closedcup.quantities import parse_pressure
from closedcup.sources import load_rows


def comparisons() -> list[Comparison]:
    """Make the comparisons of this part.

    The differences allowed were chosen after seeing the model's errors, except where the source
    states its own: they guard against a change for the worse and are no blind validation. Dilute
    ethanol (5 and 10 % by volume) is allowed the width that the interval gives it.
    """
    return [
        *(_consensus(row) for row in points("mixtures_points.csv", "consensus")),
        *(_gamma(row) for row in points("mixtures_points.csv", "gamma")),
        *(_solubility(row) for row in points("mixtures_points.csv", "solubility")),
        *(_vapour_pressure(row) for row in points("mixtures_points.csv", "vapour pressure")),
        *(_mole_fraction(row) for row in points("mixtures_points.csv", "mole fraction")),
        *(_cup_scale(row) for row in points("mixtures_points.csv", "cup scale")),
        *_blends(),
        _interval_coverage(),
    ]


def _consensus(row: Row) -> Comparison:
    """Compare a pure flash point with a source that the consensus does not use."""
    found = find(row["subject"]).flash_point()
    assert found is not None  # noqa: S101 - the liquids of the table all have one
    quantity = f"flash point of {row['subject']}, °C"
    return compare("mixtures.consensus.consensus", quantity, found.value_c, row)


def _gamma(row: Row) -> Comparison:
    """Compare one activity coefficient of ethanol, octane, toluene, butanone (.2 .3 .1 .4)."""
    liquids = [find(name) for name in ("ethanol", "octane", "toluene", "butanone")]
    model = activity_model("unifac", liquids)
    ln_gamma = model.ln_gamma(np.array([[0.2, 0.3, 0.1, 0.4]]), np.array([300.0]))
    computed = float(np.exp(ln_gamma[0, int(row["at"])]))
    quantity = f"activity coefficient of {row['subject']} in the four-component blend at 300 K"
    return compare("mixtures.activity.unifac.Unifac", quantity, computed, row)


def _solubility(row: Row) -> Comparison:
    """Compare the mole fraction of 1-butanol in one of the two liquids it forms with water."""
    model = activity_model("unifac", [find("1-butanol"), find("water")])
    feed, at = np.array([[0.2, 0.8]]), np.array([298.15])
    _, trial = unstable_trials(model, feed, at)
    phases = split(model, feed, at, trial, feed)
    both = sorted((float(phases.first[0, 0]), float(phases.second[0, 0])))
    quantity = f"mole fraction of {row['subject']} at 25 °C"
    return compare("mixtures.phase_split.split", quantity, both[int(row["at"])], row)


def _vapour_pressure(row: Row) -> Comparison:
    correlation = find(row["subject"]).vapour_pressure
    assert correlation is not None  # noqa: S101 - the liquids of the table all have one
    computed = float(vapour_pressure_kpa(correlation, float(row["at"])))
    quantity = f"vapour pressure of {row['subject']} at {row['at']} °C, kPa"
    return compare("mixtures.vapour_pressure.vapour_pressure_kpa", quantity, computed, row)


def _mole_fraction(row: Row) -> Comparison:
    """Compare the mole fraction of ethanol in water that belongs to a mass fraction."""
    mass = float(row["at"])
    made = blend([("ethanol", mass), ("water", 1 - mass)], basis="mass")
    quantity = f"mole fraction at {mass:.1%} by mass of {row['subject']}"
    return compare("mixtures.blend.blend", quantity, made.mole_fractions[0], row)


def _cup_scale(row: Row) -> Comparison:
    """Compare what the cup shows below 101.3 kPa with the rule in °F and mmHg."""
    corrected_c = float(row["at"])
    computed = cup_scale_c(corrected_c, parse_pressure(row["subject"]).kpa)
    quantity = f"what the cup shows at {row['subject']} for {corrected_c:g} °C corrected, °C"
    return compare("mixtures.estimate.cup_scale_c", quantity, computed, row)


def _blend_rows() -> list[Row]:
    return load_rows(DATA / "blend_flash_points.csv", BIBLIOGRAPHY)


def _blends() -> Iterator[Comparison]:
    """Yield blends with the pure values of their own series, so that the model alone is tried."""
    for row in _blend_rows():
        first = float(row["first_amount"])
        names, amounts = (row["first"], row["second"]), (first, 1 - first)
        made = blend(zip(names, amounts, strict=True), basis=basis_of(row))
        own = [float(row[key] or "nan") for key in ("first_pure_c", "second_pure_c")]
        x = np.array([made.mole_fractions])
        computed = float(flash_points_c(x, made.liquids, flash_c=own).flash_c[0])
        published = row | {"published": row["flash_c"], "allowed": row["allowed_c"]}
        quantity = f"flash point of {first:g} {names[0]} in {names[1]} by {row['basis']}, °C"
        yield compare("mixtures.flash_point.flash_points_c", quantity, computed, published)


def _interval_coverage() -> Comparison:
    """Compare the share of published points inside the nominal 95 % interval with 95 %.

    As a user gets it, with consensus values that no series has a say in; doubtful series apart,
    and those whose pure value is explained to be off.
    """
    found = shipped()
    inside = [
        point.low_c <= point.published_c <= point.high_c
        for names, series in all_series().items()
        if not series.explanation
        for point in found[names]
    ]
    return Comparison(
        function="mixtures.estimate.estimate",
        quantity=f"share of {len(inside)} published blends inside the nominal 95 % interval",
        published=0.95,
        computed=sum(inside) / len(inside),
        allowed=0.0501,
        source="nominal coverage; the published blends above",
        known="read",
    )
