"""Compositions as people type them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.mixtures import blend


@given(st.floats(0.01, 0.99))
def test_mass_and_mole_fractions_agree(mass):
    made = blend([("ethanol", mass), ("water", 1 - mass)], basis="mass")
    masses = [
        x * liquid.molar_mass_g_mol
        for x, liquid in zip(made.mole_fractions, made.liquids, strict=True)
    ]
    assert math.isclose(masses[0] / sum(masses), mass, rel_tol=1e-12)
    assert math.isclose(sum(made.mole_fractions), 1)


@pytest.mark.parametrize("basis", ["mole", "mass", "volume"])
def test_percentages(basis):
    percent = blend(["ethanol=30 %", "water=70%"], basis=basis)
    assert percent.mole_fractions == blend(["ethanol=0.3", "water=0.7"], basis=basis).mole_fractions


def test_nothing_is_left_out_but_zeros():
    made = blend(["ethanol=1", "water=0"])
    assert [liquid.name for liquid in made.liquids] == ["ethanol"]
    assert made.is_pure


@pytest.mark.parametrize(
    ("amounts", "kind", "says"),
    [
        (["ethanol=0.5", "water=0.4"], "fractions-sum", r"sum to 0\.9.*divided by"),
        (["ethanol=50", "water=50"], "fractions-sum", r"sum to 100.*percent"),
        (["ethanol=-0.5", "water=1.5"], "negative-fraction", "negative"),
        ([("ethanol", -0.5), ("water", 1.5)], "negative-fraction", "zero or more"),
        ([("ethanol", float("nan"))], "not-a-fraction", "not possible"),
        (["ethanol=0"], "composition-empty", "above zero"),
        ([], "composition-empty", "at least one"),
        (["ethanol=0.5", "64-17-5=0.5"], "component-repeated", "twice"),
        (["ethnol=1"], "liquid-unknown", "Did you mean ethanol"),
    ],
)
def test_what_cannot_be_used_is_said(amounts, kind, says):
    with pytest.raises(InputError, match=says) as error:
        blend(amounts)
    assert error.value.kind == kind


def test_normalise_divides_by_the_sum():
    assert blend(["ethanol=1", "water=3"], normalise=True).mole_fractions == (0.25, 0.75)


def test_unknown_basis():
    with pytest.raises(InputError, match="mole, mass, volume"):
        blend(["ethanol=1"], basis="weight")


def test_volume_without_density_is_refused_by_name():
    with pytest.raises(Refused, match="phenol"):
        blend(["phenol=0.5", "ethanol=0.5"], basis="volume")
