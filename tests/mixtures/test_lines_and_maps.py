"""Lines, maps, formulation and evaporation: they agree with the estimate and with each other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.mixtures import blend, estimate, find
from closedcup.mixtures.evaporation import evaporate
from closedcup.mixtures.formulation import least_share, most_share
from closedcup.mixtures.line import line
from closedcup.mixtures.sweep import sweep
from closedcup.mixtures.ternary_map import lattice, lowest_flash, ternary_map
from closedcup.mixtures.vapour_pressure import vapour_pressure_kpa

FIRST, SECOND = np.array([1.0, 0.0]), np.array([0.0, 1.0])


def of(*names, **choices):
    return sweep([find(name) for name in names], **choices)


@pytest.mark.parametrize("basis", ["mole", "mass", "volume"])
@pytest.mark.parametrize("activity", ["unifac", "dortmund"])
def test_a_line_is_made_of_estimates(basis, activity):
    made = of("ethanol", "water", basis=basis, activity=activity)
    along = line(made, FIRST, SECOND, points=6)
    for share, flash_c in list(zip(along.shares, along.swept.flash_c, strict=True))[:-1]:
        alone = blend([("ethanol", 1 - share), ("water", share)], basis=basis)
        assert abs(estimate(alone, activity=activity).flash_c - flash_c) < 1e-3
    assert np.isnan(along.swept.flash_c[-1])


def test_a_minimum_below_both_ends_is_located():
    made = of("octane", "ethanol")
    share, lowest_c = line(made, FIRST, SECOND).minimum
    around = np.linspace(max(share - 0.2, 0), share + 0.2, 2001)
    finest = made.at(np.stack([1 - around, around], axis=1)).flash_c
    assert abs(finest.min() - lowest_c) < 1e-4
    assert lowest_c < 13 - 5
    assert line(of("octane", "heptane"), FIRST, SECOND).minimum is None


def test_a_minimum_of_many_liquids_is_no_higher_than_of_any_pair():
    made = of("octane", "ethanol", "toluene", "1-butanol")
    start = np.random.default_rng(1).dirichlet(np.ones(4), 60)
    lowest, lowest_c = lowest_flash(made, start, made.at(start).flash_c)
    assert abs(lowest.sum() - 1) < 1e-9
    near = np.random.default_rng(2).dirichlet(np.ones(4), 2000)
    assert lowest_c <= np.nanmin(made.at(near).flash_c) + 1e-3


@settings(max_examples=20, deadline=None)
@given(st.floats(15, 60))
def test_crossings_lie_on_the_level(level_c):
    made = of("ethanol", "water", basis="volume")
    for crossing in line(made, FIRST, SECOND, levels_c=(level_c,)).crossings:
        at = made.at(np.array([[1 - crossing.share, crossing.share]])).flash_c[0]
        assert abs(at - level_c) < 0.1


def test_map():
    made = of("ethanol", "toluene", "acetone", basis="mass")
    found = ternary_map(made, steps=20)
    assert found.amounts.shape == (231, 3)
    np.testing.assert_allclose(found.amounts.sum(axis=1), 1)
    assert found.lowest_c <= np.nanmin(found.swept.flash_c)
    edge = found.amounts[:, 2] == 0
    pair = of("ethanol", "toluene", basis="mass").at(found.amounts[edge][:, :2]).flash_c
    np.testing.assert_allclose(found.swept.flash_c[edge], pair, atol=1e-4)
    assert len(lattice(100)) == 5151
    with pytest.raises(InputError, match="three liquids"):
        ternary_map(of("ethanol", "water"))
    with pytest.raises(InputError, match="2 to 400"):
        ternary_map(made, steps=1)


def test_most_of_a_liquid_keeps_the_limit_and_no_more():
    made = of("decane", "ethanol", basis="mass")
    found = most_share(made, FIRST, SECOND, 30.0)
    for less, keeps in ((0.999, True), (1.01, False)):
        share = found.share * less
        flash_c = made.at(np.array([[1 - share, share]])).flash_c[0]
        assert bool(flash_c >= 30.0 - 1e-3) is keeps
    assert most_share(made, FIRST, SECOND, 0.0).unbounded
    with pytest.raises(Refused, match="before anything is added"):
        most_share(made, FIRST, SECOND, 60.0)


def test_least_water_keeps_the_limit_from_there_on():
    made = of("ethanol", "water", basis="volume")
    found = least_share(made, FIRST, SECOND, 23.0)
    assert 0.2 < found.share < 0.5
    assert abs(found.flash_c - 23.0) < 0.01
    beyond = np.linspace(found.share, 1, 50)
    flash_c = made.at(np.stack([1 - beyond, beyond], axis=1)).flash_c
    assert (np.isnan(flash_c) | (flash_c >= 23.0 - 1e-6)).all()
    assert least_share(made, FIRST, SECOND, 5.0).unbounded
    with pytest.raises(Refused, match="No share"):
        least_share(of("decane", "ethanol"), FIRST, SECOND, 40.0)


@pytest.mark.outside(source="Rayleigh's equation for constant relative volatility", known="memory")
def test_ideal_evaporation_follows_the_closed_form():
    made = of("heptane", "octane", activity="ideal")
    start = np.array([0.5, 0.5])
    found = evaporate(made, start, 20.0, [0.1, 0.5, 0.9])
    alpha = vapour_pressure_kpa(made.liquids[0].vapour_pressure, 20.0) / vapour_pressure_kpa(
        made.liquids[1].vapour_pressure, 20.0
    )
    mass = np.array([liquid.molar_mass_g_mol for liquid in made.liquids])
    left = (1 - found.lost) * (start @ mass)
    moles = found.mass_fractions * left[:, None] / mass / start
    np.testing.assert_allclose(np.log(moles[:, 0]), alpha * np.log(moles[:, 1]), rtol=2e-3)


def test_evaporation_raises_the_flash_point_of_solvents_and_keeps_a_pure_liquid():
    made = of("acetone", "toluene", "butyl acetate")
    found = evaporate(made, np.array([0.2, 0.4, 0.4]), 20.0, [0, 0.05, 0.2, 0.5, 0.9])
    assert (np.diff(found.swept.flash_c) > 0).all()
    np.testing.assert_allclose(found.mass_fractions.sum(axis=1), 1)
    pure = evaporate(of("acetone"), np.array([1.0]), 20.0, [0.5])
    assert pure.swept.flash_c[0] == find("acetone").flash_point().value_c


def test_evaporation_refusals():
    with pytest.raises(InputError, match="between 0"):
        evaporate(of("acetone"), np.array([1.0]), 20.0, [1.0])
    with pytest.raises(Refused, match="two liquids"):
        evaporate(of("water", "1-butanol"), np.array([0.8, 0.2]), 20.0, [0.1])
