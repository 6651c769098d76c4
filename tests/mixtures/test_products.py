"""Traces: petrol in diesel as a pseudo-component, solvent in a resin that gives off nothing."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.mixtures import blend, catalogue, estimate, find, own_liquids
from closedcup.mixtures.blending_index import contaminants
from closedcup.mixtures.names import name_key
from closedcup.mixtures.products import products
from closedcup.mixtures.resin import factor
from closedcup.mixtures.sweep import sweep


@pytest.mark.parametrize("name", list(products()))
def test_a_product_alone_flashes_where_it_is_said_to_and_as_widely(name):
    product = products()[name]
    found = estimate(blend([(name, 1.0)]))
    assert found.flash_c == pytest.approx(product.flash_c, abs=0.01)
    assert found.high_c - found.low_c > 1.8 * product.half_width_c
    for synonym in product.synonyms:
        assert find(synonym) is find(name)


def test_no_product_hides_a_liquid():
    taken = {
        name_key(text) for each in catalogue().values() for text in (each.name, *each.synonyms)
    }
    said = {name_key(text) for each in products().values() for text in (each.name, *each.synonyms)}
    assert not taken & said


@pytest.mark.outside(source="DOT HS 807 484, restated by a university", known="read")
def test_the_interval_holds_the_published_pair_of_petrol_in_diesel():
    own = own_liquids([{"name": "diesel", "flash_point_c": 75}])
    made = blend(["petrol=5 %", "diesel=95 %"], basis="volume", own=own)
    found = estimate(made)
    assert found.low_c < 25 < found.high_c
    assert found.high_c - found.low_c > 40
    assert any("indices" in part.covers for part in found.parts)


def test_the_more_petrol_the_colder():
    flashes = [
        estimate(blend([("petrol", x), ("diesel", 1 - x)], basis="volume")).flash_c
        for x in (0.001, 0.01, 0.05, 0.2)
    ]
    assert flashes == sorted(flashes, reverse=True)
    assert flashes[0] < find("diesel").flash_point().value_c


def test_light_products_are_the_contaminants():
    assert set(contaminants()) == {"petrol", "white spirit", "kerosene"}


@given(st.floats(0, 0.99), st.floats(0, 0.5))
def test_a_resin_of_equal_size_only_dilutes_and_a_larger_one_holds_less(share, ratio):
    assert math.isclose(factor(share, 1, 0), 1 - share, abs_tol=1e-12)
    assert factor(share, ratio, 0.4) >= factor(share, 1, 0.4)
    assert factor(share, ratio, 0.4) <= 1 + 1e-12


def of(amounts, basis="mass"):
    return estimate(blend(amounts, basis=basis))


def test_solvent_in_resin_flashes_higher_the_less_there_is_and_less_surely():
    rising = [of([("toluene", x), ("resin", 1 - x)]) for x in (0.9, 0.5, 0.1, 0.02)]
    flashes = [each.flash_c for each in rising]
    assert flashes == sorted(flashes)
    assert flashes[0] == pytest.approx(find("toluene").flash_point().value_c, abs=1)
    widths = [each.high_c - each.low_c for each in rising]
    assert widths == sorted(widths)
    assert any(step["step"] == "resin" for step in rising[0].steps)
    assert any("skin" in text for text in rising[0].warnings)


def test_a_resin_is_the_same_by_mass_by_volume_and_by_mole():
    mass = of([("toluene", 0.3), ("resin 1500 g/mol", 0.7)])
    toluene = find("toluene")
    density = toluene.properties["density_20c_kg_m3"].value
    volumes = {"toluene": 0.3 / density, "resin 1500 g/mol": 0.7 / 1100}
    moles = {"toluene": 0.3 / toluene.molar_mass_g_mol, "resin 1500 g/mol": 0.7 / 1500}
    for basis, amounts in (("volume", volumes), ("mole", moles)):
        made = blend(list(amounts.items()), basis=basis, normalise=True)
        assert estimate(made).flash_c == pytest.approx(mass.flash_c, abs=0.01)


def test_solvents_among_themselves_keep_their_activities():
    both = [("toluene", 0.5), ("butanone", 0.5)]
    little = [("toluene", 0.4999), ("butanone", 0.4999), ("resin", 0.0002)]
    assert of(little).flash_c == pytest.approx(of(both).flash_c, abs=0.05)


def test_a_resin_is_found_by_name_but_no_sum_is_made_with_it_as_a_liquid():
    resin = find("resin 1500 g/mol")
    assert (resin.role, resin.molar_mass_g_mol, resin.hazards) == ("inert", 1500, ())
    with pytest.raises(Refused):
        sweep([find("toluene"), resin])


@pytest.mark.parametrize(
    ("amounts", "basis", "kind"),
    [
        (["resin=1"], "mass", "no-flash"),
        (["resin=0.5", "toluene=0.5"], "mole", "resin-by-mole"),
        (["resin=0.5", "polymer=0.2", "toluene=0.3"], "mass", "component-repeated"),
        (["resin=0.5", "toluene=0.3", "water=0.2"], "mass", "resin-and-water"),
    ],
)
def test_resins_that_no_flash_point_is_calculated_for(amounts, basis, kind):
    with pytest.raises((InputError, Refused)) as error:
        of(amounts, basis)
    assert error.value.kind == kind


@pytest.mark.parametrize(
    ("amounts", "says"),
    [
        (["ethanol=50 %", "water=50 %"], ""),
        (["octane=50 %", "butyl acetate=50 %"], ""),
        (["butanone=50 %", "toluene=50 %"], r"butanone \(ketone\)"),
        (["butyl acrylate=50 %", "toluene=50 %"], r"butyl acrylate \(acrylate\)"),
        (["dimethyl sulfoxide=90 %", "ethanol=10 %"], "sulphur"),
        (["petrol=2 %", "diesel=98 %"], "petrol .product"),
    ],
)
def test_what_the_published_condition_leaves_out_is_said(amounts, says):
    outside = [text for text in of(amounts).warnings if "2.6.4.2" in text]
    assert bool(outside) is bool(says)
    assert not says or re.search(says, outside[0])
