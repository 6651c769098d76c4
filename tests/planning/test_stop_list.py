"""The stop list: what hazards ask for before any temperature."""

import pytest

from closedcup.errors import InputError
from closedcup.methods import method
from closedcup.mixtures.hazards import HAZARDS
from closedcup.planning import (
    contaminant,
    contaminant_names,
    hazard_words,
    stop_list,
    volume_conflict,
)


def test_every_hazard_that_a_liquid_can_carry_is_on_the_list():
    assert set(HAZARDS) <= set(hazard_words())


def test_the_strictest_consequence_governs_and_names_the_components():
    found = stop_list(
        {"tetrahydrofuran": ["peroxide-former"], "dichloromethane": ["halogenated", "forms-hcl"]},
        ["azide", "peroxide former"],
    )
    assert (found.consequence, found.refused, found.smallest_volume) == ("refuse", True, True)
    assert found.items[0].hazard == "azide"
    peroxide = next(item for item in found.items if item.hazard == "peroxide-former")
    assert peroxide.because == ("tetrahydrofuran", "the sample as declared")
    assert peroxide.confirm


@pytest.mark.parametrize(
    ("hazard", "consequence"),
    [("self-reactive", "named reviewer"), ("pressurised", "refuse"),
     ("peroxide former", "smallest volume")],
)  # fmt: skip
def test_one_hazard(hazard, consequence):
    found = stop_list({}, [hazard])
    assert found.consequence == consequence
    assert found.items[0].caution


def test_a_hazardous_sample_is_not_tested_by_the_glassful():
    toxic = stop_list({}, ["acutely toxic"])
    assert "75 mL" in volume_conflict(toxic, method("d93-a"))
    assert not volume_conflict(toxic, method("d3828-b"))
    assert not volume_conflict(stop_list({}), method("d93-a"))


def test_nothing_listed_asks_for_nothing():
    found = stop_list({"n-decane": []})
    assert (found.items, found.consequence) == ((), "none")


def test_an_unknown_word_is_not_passed_over():
    with pytest.raises(InputError, match="peroxide-former"):
        stop_list({}, ["spicy"])


def test_petrol_has_a_flash_point_far_below_zero_and_an_unknown_name_none():
    assert contaminant("Petrol").lowest_flash_corrected_c < -35
    assert contaminant("jam") is None
    assert "petrol" in contaminant_names()
