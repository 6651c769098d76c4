"""The root of the sum: against a scalar solver on an independent library, limits, monotony."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import Refused
from closedcup.mixtures import find, flash_points_c
from closedcup.mixtures.flash_point import KELVIN, make_sum

NAMES = ("ethanol", "octane", "toluene", "butanone", "1-butanol", "ethyl acetate", "decane")
SOLVENTS = [find(name) for name in ("ethanol", "water", "butanone", "toluene")]


def blends(size):
    parts = st.lists(st.floats(0.01, 1), min_size=size, max_size=size)
    names = st.lists(st.sampled_from(NAMES), min_size=size, max_size=size, unique=True)
    return st.tuples(
        names.map(lambda chosen: [find(name) for name in chosen]),
        parts.map(lambda values: np.array([values]) / sum(values)),
    )


@pytest.mark.outside(source="thermo's UNIFAC with scipy's brentq, point by point", known="package")
def test_equals_a_scalar_solver():
    import math

    from scipy.optimize import brentq  # noqa: TID251 - the independent solver
    from thermo.unifac import UFIP, UFSG, UNIFAC

    rows = np.random.default_rng(3).dirichlet(np.ones(4), 40)
    ours = flash_points_c(rows, SOLVENTS, activity="unifac").flash_c
    flash_k = [
        each.flash_point().value_c + KELVIN if each.role == "flammable" else None
        for each in SOLVENTS
    ]
    start = UNIFAC.from_subgroups(
        T=300.0, xs=[0.25] * 4, chemgroups=[dict(each.subgroups) for each in SOLVENTS], version=0,
        subgroups=UFSG, interaction_data=UFIP,
    )  # fmt: skip

    def pressure(liquid, kelvin):
        # Wagner's equation, written out again; the four are of this form.
        assert liquid.vapour_pressure.equation == "wagner-2.5-5"
        a, b, c, d, critical_k, critical_pa = liquid.vapour_pressure.constants
        t = 1 - kelvin / critical_k
        exponent = (a * t + b * t**1.5 + c * t**2.5 + d * t**5) / (1 - t)
        return critical_pa * math.exp(exponent)

    def excess(kelvin, x):
        gammas = start.to_T_xs(kelvin, x).gammas()
        terms = (
            x[i] * gammas[i] * pressure(SOLVENTS[i], kelvin) / pressure(SOLVENTS[i], flash_k[i])
            for i in (0, 2, 3)
        )
        return math.log(sum(terms))

    theirs = [brentq(excess, 230, 420, args=(x.tolist(),), xtol=1e-9) - KELVIN for x in rows]
    np.testing.assert_allclose(ours, theirs, atol=1e-4)


@given(blends(3), st.permutations(range(3)))
def test_order_of_components_does_not_matter(case, order):
    liquids, x = case
    turned = flash_points_c(x[:, order], [liquids[i] for i in order]).flash_c
    np.testing.assert_allclose(turned, flash_points_c(x, liquids).flash_c, atol=1e-5)


@given(blends(2), st.floats(0.1, 0.9))
def test_a_liquid_named_in_two_parts_is_one_liquid(case, share):
    (one, other), x = case
    parts = np.array([[x[0, 0] * share, x[0, 0] * (1 - share), x[0, 1]]])
    twice = flash_points_c(parts, [one, one, other]).flash_c
    np.testing.assert_allclose(twice, flash_points_c(x, [one, other]).flash_c, atol=1e-5)


@given(blends(3), st.floats(60, 100))
def test_rises_with_pressure(case, kpa):
    liquids, x = case
    low = flash_points_c(x, liquids, pressure_kpa=kpa).flash_c
    assert (low < flash_points_c(x, liquids, pressure_kpa=kpa + 1).flash_c).all()


@given(blends(3))
def test_the_sum_is_one_at_the_root(case):
    liquids, x = case
    flash_c = flash_points_c(x, liquids).flash_c
    ln_sum = make_sum(liquids).ln_sum(x, flash_c + KELVIN)
    np.testing.assert_allclose(ln_sum, 0, atol=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_a_pure_liquid_keeps_its_flash_point_to_the_last_digit(name):
    liquid = find(name)
    found = flash_points_c(np.array([[1.0, 0.0]]), [liquid, find("hexane")])
    assert found.flash_c[0] == liquid.flash_point().value_c


@settings(max_examples=25)
@given(st.floats(1e-7, 0.01))
def test_the_end_is_reached_without_a_step(trace):
    pair = [find("octane"), find("ethanol")]
    near = flash_points_c(np.array([[1 - trace, trace]]), pair).flash_c[0]
    assert abs(near - 13.0) < 600 * trace + 1e-4


def test_reasons_for_no_flash():
    pair = [find("water"), find("ethanol")]
    x = np.array([[1.0, 0.0], [0.999, 0.001], [0.5, 0.5]])
    found = flash_points_c(x, pair)
    assert np.isnan(found.flash_c).tolist() == [True, True, False]
    assert found.no_flash[0] == "no flammable liquid is present"
    assert "boils" in found.no_flash[1]
    assert found.no_flash[2] == ""


def test_large_batches_equal_single_rows():
    rows = np.random.default_rng(7).dirichlet(np.ones(4), 4100)
    together = flash_points_c(rows, SOLVENTS).flash_c
    picked = [0, 1999, 2000, 4099]
    alone = [flash_points_c(rows[i], SOLVENTS).flash_c[0] for i in picked]
    np.testing.assert_allclose(together[picked], alone, atol=1e-5)


def test_a_liquid_without_vapour_pressure_is_named():
    with pytest.raises(Refused, match="limonene"):
        flash_points_c(np.array([[0.5, 0.5]]), [find("limonene"), find("toluene")])
