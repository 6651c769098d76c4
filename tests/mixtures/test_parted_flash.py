"""Blends that part: an independent solver's answers, three liquids, and no split on hearsay."""

from itertools import combinations

import numpy as np
import pytest
from common_tangent import flash_point, liquids_under
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.mixtures import blend, estimate, find
from closedcup.mixtures.flash_point import KELVIN, make_sum
from closedcup.mixtures.miscibility import known_miscible
from closedcup.mixtures.sweep import sweep
from closedcup.mixtures.ternary_map import lattice
from closedcup.mixtures.two_liquids import solve_with_split

SYSTEMS = [
    ("water", "toluene", "ethanol"),
    ("water", "1-butanol", "acetone"),
    ("methanol", "heptane", "toluene"),
    ("water", "heptane", "methanol"),
]
# Alcohols, ketones, esters, hydrocarbons, water and glycols: some pairs part, most do not.
POOL = ("water", "methanol", "ethanol", "1-butanol", "toluene", "heptane", "hexadecane", "butanone",
        "acetone", "butyl acetate", "ethylene glycol", "cyclohexane", "1-octanol")  # fmt: skip
MIXING = [
    {"octane", "toluene", "ethanol", "hexane"},
    {"water", "tert-butanol"},
    {"water", "acetone"},
    {"heptane", "toluene", "decane", "cyclohexane"},
]


def solved(names, x, **options):
    liquids = [find(name) for name in names]
    return solve_with_split(make_sum(liquids), liquids, np.asarray(x), **options)


@pytest.mark.outside(
    source="common tangent on a lattice, then scipy.optimize.root", known="package"
)
@pytest.mark.parametrize("names", SYSTEMS, ids=lambda names: names[1])
def test_equals_an_independent_solver(names):
    """Rows whose every liquid is large enough for the lattice to show it."""
    made = sweep([find(name) for name in names])
    x = np.random.default_rng(9).dirichlet(np.ones(3), 14)
    found, compared = made.at(x), 0
    for row, flash_c, phases in zip(x, found.flash_c, found.liquid_phases, strict=True):
        guess = liquids_under(made.flash_sum.model, row, flash_c + KELVIN, 60)
        if len(guess) == phases and guess.sum(axis=1).min() > 0.05:
            theirs, count = flash_point(made.flash_sum, row, flash_c)
            assert abs(theirs - flash_c) < 1e-4
            assert count == phases
            compared += phases > 1
    assert compared >= 2


def test_three_liquids_are_solved_and_have_one_activity_each():
    names = ("acetonitrile", "water", "ethylene glycol", "cyclohexane")
    x = np.array([[0.45, 0.20, 0.15, 0.20], [0.40, 0.20, 0.15, 0.25]])
    found = solved(names, x, thorough=False)
    assert found.liquid_phases.tolist() == [3, 3]
    assert not found.third.any()
    model, at = make_sum([find(name) for name in names]).model, found.roots.flash_c + KELVIN
    activities = [
        phase * np.exp(model.ln_gamma(phase, at))
        for phase in (found.composition, found.other_composition, found.third_composition)
    ]
    np.testing.assert_allclose(activities[1], activities[0], rtol=1e-6)
    np.testing.assert_allclose(activities[2], activities[0], rtol=1e-6)
    on_lattice = liquids_under(model, x[0], at[0], 24)
    on_lattice /= on_lattice.sum(axis=1, keepdims=True)
    assert len(on_lattice) == 3
    for phase in (found.composition, found.other_composition, found.third_composition):
        assert np.abs(on_lattice - phase[0]).max(axis=1).min() < 2 / 24
    alone = estimate(blend(zip(names, x[0].tolist(), strict=True)))
    assert alone.liquid_phases == 3
    assert any("three liquids" in warning for warning in alone.warnings)


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(MIXING), st.integers(0, 10**6))
def test_liquids_on_record_as_miscible_never_part(names, seed):
    liquids = [find(name) for name in sorted(names)]
    assert all(known_miscible(*pair) for pair in combinations(liquids, 2))
    x = np.random.default_rng(seed).dirichlet(np.ones(len(liquids)), 20)
    found = solve_with_split(make_sum(liquids), liquids, x)
    assert (found.liquid_phases == 1).all()
    np.testing.assert_array_equal(found.roots.flash_c, found.as_one_liquid.flash_c)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.sampled_from(POOL), min_size=2, max_size=5, unique=True), st.integers(0, 10**6))
def test_every_parted_answer_is_an_equilibrium_that_makes_up_the_blend(names, seed):
    liquids = [find(name) for name in names]
    flash_sum = make_sum(liquids)
    x = np.random.default_rng(seed).dirichlet(np.ones(len(liquids)), 40)
    found = solve_with_split(flash_sum, liquids, x, thorough=False)
    hit = (found.liquid_phases > 1) & ~np.isnan(found.roots.flash_c)
    if not hit.any():
        return
    assert not all(known_miscible(*pair) for pair in combinations(liquids, 2))
    at = found.roots.flash_c[hit] + KELVIN
    ends = found.composition[hit], found.other_composition[hit]
    ln_sums = [flash_sum.ln_sum(end, at) for end in ends]
    np.testing.assert_allclose(ln_sums, 0.0, atol=2e-5)  # half a thousandth of a degree
    two = found.liquid_phases[hit] == 2
    first, second, whole = ends[0][two], ends[1][two], x[hit][two]
    apart = first - second
    share = ((whole - second) * apart).sum(axis=1) / (apart**2).sum(axis=1)
    assert ((share > 0) & (share < 1)).all()
    np.testing.assert_allclose(share[:, None] * first + (1 - share)[:, None] * second, whole,
                               atol=1e-7)  # fmt: skip


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(SYSTEMS), st.floats(0.05, 0.95), st.integers(0, 5150))
def test_flat_between_the_parted_liquids(names, share, place):
    x = lattice(100)[place]
    found = solved(names, [x], thorough=False)
    if found.liquid_phases[0] == 2:
        ends = found.composition[0], found.other_composition[0]
        between = share * ends[0] + (1 - share) * ends[1]
        again = solved(names, [between / between.sum()], thorough=False)
        assert abs(again.roots.flash_c[0] - found.roots.flash_c[0]) < 1e-3
