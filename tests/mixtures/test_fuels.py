"""Fuels: pseudo-components against pure liquids and an independent library; curves; indices."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.mixtures import find
from closedcup.mixtures.blending_index import (
    blended_flash_c,
    contaminants,
    contamination,
    ln_index,
)
from closedcup.mixtures.flash_point import KELVIN
from closedcup.mixtures.fuels import fuel_flashes, pseudo_components, span_c, surrogate
from closedcup.mixtures.vapour_pressure import vapour_pressure_kpa

DIESEL = {0: 170, 10: 200, 30: 235, 50: 265, 70: 295, 90: 335}
INDICES = ("log10-index-f", "power-index-r")


@pytest.mark.outside(source="chemicals, functions Lee_Kesler and LK_omega", known="package")
@pytest.mark.parametrize("flash_c", [20.0, 60.0, 110.0])
def test_vapour_pressure_of_a_pseudo_component_equals_the_library(flash_c):
    from chemicals import Lee_Kesler, LK_omega

    pseudo = surrogate(flash_c)
    boiling, critical_k, critical_pa = (
        float(values[0]) for values in (pseudo.boiling_k, pseudo.critical_k, pseudo.critical_pa)
    )
    omega = LK_omega(boiling, critical_k, critical_pa)
    ours = np.exp(pseudo.ln_vapour_pressure(np.array([320.0, 400.0]))[0])
    theirs = [Lee_Kesler(kelvin, critical_k, critical_pa, omega) for kelvin in (320.0, 400.0)]
    np.testing.assert_allclose(ours, theirs, rtol=1e-9)


@pytest.mark.outside(source="published boiling points and vapour pressures", known="package")
@pytest.mark.parametrize("name", ["octane", "decane", "dodecane", "hexadecane"])
def test_a_slice_like_an_alkane_has_nearly_its_vapour_pressure_and_molar_mass(name):
    """A narrow cut that boils where an alkane does: within a sixth in pressure, a tenth in mass."""
    liquid = find(name)
    boiling_c = liquid.properties["boiling_c"].value
    curve = {0: boiling_c - 0.1, 50: boiling_c, 100: boiling_c + 0.1}
    density = liquid.properties["density_20c_kg_m3"].value / 999
    pseudo = pseudo_components(curve, kind="simulated", relative_density=density)
    middle = len(pseudo.boiling_k) // 2
    flash_c = liquid.flash_point().value_c
    at = np.array([flash_c + KELVIN])
    pressure = float(np.exp(pseudo.ln_vapour_pressure(at)[middle, 0])) / 1000
    assert pressure / float(vapour_pressure_kpa(liquid.vapour_pressure, flash_c)) == pytest.approx(
        1, abs=1 / 6
    )
    assert pseudo.molar_mass_g_mol[middle] == pytest.approx(liquid.molar_mass_g_mol, rel=0.1)


def test_the_ways_agree_on_an_ordinary_diesel_and_the_span_holds_them():
    found = fuel_flashes(DIESEL, relative_density=0.84)
    middle, low, high = span_c(found)
    assert len(found) == 4
    assert all(low < each.flash_c < high for each in found)
    assert 55 < middle < 85
    assert 20 < high - low < 50


@given(st.floats(1, 60))
def test_a_curve_that_is_hotter_flashes_hotter(shift):
    colder = fuel_flashes(DIESEL, relative_density=0.84)
    hotter = fuel_flashes({at: t + shift for at, t in DIESEL.items()}, relative_density=0.84)
    assert all(one.flash_c < other.flash_c for one, other in zip(colder, hotter, strict=True))


@pytest.mark.parametrize(
    ("curve", "density", "kind"),
    [
        ({10: 200, 50: 260}, None, "curve-too-short"),
        ({20: 200, 50: 260, 90: 330}, None, "curve-too-short"),
        ({0: 170, 10: 200, 120: 330}, None, "curve-impossible"),
        ({0: 170, 10: 160, 90: 330}, None, "curve-falls"),
        (DIESEL, 8.4, "density-impossible"),
    ],
)
def test_curves_that_cannot_be_used(curve, density, kind):
    with pytest.raises(InputError) as error:
        pseudo_components(curve, relative_density=density)
    assert error.value.kind == kind


@pytest.mark.parametrize("form", INDICES)
def test_an_index_gives_back_its_flash_point_and_falls(form):
    assert blended_flash_c(form, [61.0], [1.0]) == pytest.approx(61.0)
    assert ln_index(form, 40) > ln_index(form, 60)
    assert 40 < blended_flash_c(form, [40.0, 60.0], [0.5, 0.5]) < 60


def test_the_indices_differ_by_twenty_degrees_at_five_per_cent_of_petrol():
    blends = [blended_flash_c(form, [65.0, -40.0], [0.95, 0.05]) for form in INDICES]
    assert abs(blends[0] - blends[1]) > 20


def test_a_drop_is_contamination_not_a_percentage():
    petrol = contaminants()["petrol"]
    found = contamination(65, 45, petrol)
    low, high = found.span
    assert found.significant
    assert high > 10 * low
    assert not contamination(65, 63, petrol).significant
    assert contamination(65, 70, petrol).span is None
    low, high = contamination(75, 25, petrol).span
    assert low < 0.05 < high
    with pytest.raises(InputError, match="not above"):
        contamination(65, -35, petrol)


@pytest.mark.parametrize("name", ["octane", "decane", "dodecane", "tetradecane", "hexadecane"])
def test_the_span_holds_the_alkane_that_a_narrow_cut_boils_like(name):
    liquid = find(name)
    boiling_c = liquid.properties["boiling_c"].value
    curve = {0: boiling_c - 1, 50: boiling_c, 100: boiling_c + 1}
    density = liquid.properties["density_20c_kg_m3"].value / 999
    _, low, high = span_c(fuel_flashes(curve, relative_density=density))
    assert low <= liquid.flash_point().value_c <= high
