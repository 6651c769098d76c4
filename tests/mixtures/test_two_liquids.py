"""Blends that part: equal activities, a flat flash point across the gap, no split on hearsay."""

import numpy as np
import pytest

from closedcup.mixtures import find
from closedcup.mixtures.flash_point import KELVIN, make_sum
from closedcup.mixtures.miscibility import known_miscible
from closedcup.mixtures.phase_split import split, unstable_trials
from closedcup.mixtures.two_liquids import solve_with_split

PARTING = [("water", "1-butanol"), ("methanol", "heptane"), ("water", "toluene")]
MIXING = [
    ("octane", "ethanol"),
    ("water", "tert-butanol"),
    ("octane", "toluene"),
    ("water", "acetone"),
]


def solved(names, fractions):
    liquids = [find(name) for name in names]
    x = np.array(fractions)
    return solve_with_split(make_sum(liquids), liquids, np.stack([x, 1 - x], axis=1))


@pytest.mark.parametrize("names", PARTING)
def test_flash_point_is_flat_across_the_gap(names):
    found = solved(names, [0.6, 0.75, 0.85])
    assert found.liquid_phases.tolist() == [2, 2, 2]
    assert np.ptp(found.roots.flash_c) < 1e-3
    assert not found.spurious.any()


@pytest.mark.parametrize("names", MIXING)
def test_known_mixing_pairs_stay_one_liquid(names):
    found = solved(names, [0.1, 0.4, 0.6, 0.9])
    assert found.liquid_phases.tolist() == [1, 1, 1, 1]


def test_a_split_against_the_record_is_reported():
    assert solved(("octane", "ethanol"), [0.5]).spurious.tolist() == [True]


def test_immiscible_oil_and_solvent_flash_like_the_solvent_side():
    """Water and toluene hardly dissolve in each other: the toluene layer is nearly pure."""
    found = solved(("water", "toluene"), [0.05, 0.95])
    np.testing.assert_allclose(found.roots.flash_c, find("toluene").flash_point().value_c, atol=0.1)


def test_parted_liquids_have_equal_activities_and_make_up_the_feed():
    flash_sum = make_sum([find("methanol"), find("heptane")])
    feed, at = np.array([[0.5, 0.5]]), np.array([280.0])
    unstable, trial = unstable_trials(flash_sum.model, feed, at)
    assert unstable.all()
    phases = split(flash_sum.model, feed, at, trial, feed)
    activities = [
        x * np.exp(flash_sum.model.ln_gamma(x, at)) for x in (phases.first, phases.second)
    ]
    np.testing.assert_allclose(*activities, rtol=1e-6)
    share = phases.first_share[:, None]
    np.testing.assert_allclose(share * phases.first + (1 - share) * phases.second, feed, atol=1e-9)


def test_three_components():
    liquids = [find(name) for name in ("water", "toluene", "ethanol")]
    flash_sum = make_sum(liquids)
    x = np.array([[0.45, 0.45, 0.10], [0.05, 0.05, 0.90]])
    found = solve_with_split(flash_sum, liquids, x)
    assert found.liquid_phases.tolist() == [2, 1]
    for phase in (found.composition[:1], found.other_composition[:1]):
        ln_sum = flash_sum.ln_sum(phase, found.roots.flash_c[:1] + KELVIN)
        assert abs(ln_sum[0]) < 5e-5  # a thousandth of a degree


@pytest.mark.parametrize(
    ("one", "other", "mixes"),
    [
        ("water", "ethanol", True),
        ("ethanol", "water", True),
        ("ethanol", "octane", True),
        ("ethanol", "hexadecane", False),
        ("methanol", "heptane", False),
        ("water", "1-butanol", False),
        ("toluene", "hexadecane", True),
    ],
)
def test_record_of_mixing_pairs(one, other, mixes):
    assert known_miscible(find(one), find(other)) is mixes
