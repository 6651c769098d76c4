"""The line of flash points: no gap, no overlap, every class reachable, chances that add up."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.classification import Evidence, bands, chances, classify_regime, regimes
from closedcup.classification.regimes import editions

ALL = {f"{regime.name} ({regime.edition})": regime for regime in editions()}

# Evidence by which the classes are reached that a flash point alone does not reach.
HELPING = (
    {},
    {"boiling_c": 30.0},
    {"boiling_c": 150.0},
    {"boiling_c": 30.0, "sustains_combustion": False},
    {"no_flash_at_c": 100.0, "burns": False, "flash_c": None},
    *({"open_cup_c": c, "reid_vapour_pressure_kpa": p} for c in (20, 50, 80) for p in (30, 70, 99)),
)
OTHER_EVIDENCE = st.fixed_dictionaries(
    {},
    optional={
        "boiling_c": st.sampled_from([30.0, 35.0, 36.0, 150.0]),
        "sustains_combustion": st.booleans(),
        "carried_at_c": st.floats(0, 120),
        "viscosity_mm2_s": st.floats(1, 900),
        "receptacle_l": st.sampled_from([1.0, 30.0, 450.0, 500.0]),
        "water_mass_percent": st.floats(0, 95),
        "alcohol_volume_percent": st.floats(0, 95),
        "product": st.sampled_from(["diesel", "spirit", "consumer product", "solvent"]),
        "mode": st.sampled_from(["road", "sea", "air", "ground"]),
    },
)


@pytest.mark.parametrize("name", ALL)
def test_every_class_of_every_regime_is_reached(name):
    regime = ALL[name]
    reached = set()
    for help_ in HELPING:
        for flash_c in (-40.0, 0.0, 20.0, 30.0, 40.0, 50.0, 61.0, 80.0, 95.0, 120.0, 140.0):
            evidence = Evidence(**({"flash_c": flash_c} | help_))
            answer = classify_regime(evidence, regime.name, regime.in_force)
            reached.add(answer.classification)
    if regime.superseded is None:
        assert set(regime.classes) <= reached


@pytest.mark.parametrize("name", [r.name for r in regimes() if len(r.classes) > 2])
@settings(max_examples=12, deadline=None)
@given(other=OTHER_EVIDENCE, flash_c=st.floats(-60, 140))
def test_the_bands_leave_no_gap_and_agree_with_the_answer(name, other, flash_c):
    regime = next(each for each in regimes() if each.name == name)
    evidence = Evidence(flash_c=flash_c, **other)
    found = bands(regime, evidence)
    assert (found[0].low_c, found[-1].high_c) == (-math.inf, math.inf)
    for lower, upper in pairwise(found):
        assert lower.high_c == upper.low_c
        assert lower.high_belongs is not upper.low_belongs
        assert lower.classification != upper.classification
    inside = [
        band
        for band in found
        if band.low_c < round(flash_c, 9) < band.high_c
        or (band.low_belongs and abs(flash_c - band.low_c) < 1e-7)
        or (band.high_belongs and abs(flash_c - band.high_c) < 1e-7)
    ]
    assert classify_regime(evidence, name).classification in {b.classification for b in inside}


@settings(max_examples=40, deadline=None)
@given(flash_c=st.floats(-40, 130), standard_c=st.floats(0.05, 5))
def test_the_chances_add_up_and_the_answer_is_likely_away_from_a_limit(flash_c, standard_c):
    evidence = Evidence(flash_c=flash_c, boiling_c=150.0, standard_uncertainty_c=standard_c)
    for regime in (each for each in regimes() if len(each.classes) > 2):
        found = {one.classification: one.probability for one in chances(regime, evidence)}
        assert sum(found.values()) == pytest.approx(1, abs=1e-3)
        answer = classify_regime(evidence, regime.name)
        if abs(answer.margin_c) > 2 * standard_c:
            assert found[answer.classification] > 0.95


def test_the_chance_of_a_class_is_the_normal_tail_beyond_its_limit():
    evidence = Evidence(flash_c=59.0, standard_uncertainty_c=1.0, reproducibility_c=2.772)
    answer = classify_regime(evidence, "RCRA")
    # The standard normal distribution at one standard deviation.
    assert answer.chances[0].probability == pytest.approx(0.841345, abs=1e-6)
    assert answer.margin_r == pytest.approx(-1 / 2.772, abs=1e-6)


def test_without_an_uncertainty_there_is_no_chance():
    assert classify_regime(Evidence(flash_c=59.0), "RCRA").chances == ()


def test_the_bands_name_the_limit_in_the_unit_of_the_rule_and_who_owns_it():
    osha = next(each for each in regimes() if each.name == "OSHA")
    found = bands(osha, Evidence(flash_c=50.0, boiling_c=150.0))
    assert [(b.classification, b.high_limit, b.high_belongs) for b in found[:2]] == [
        ("Category 2", "73.4 °F", False),
        ("Category 3", "140 °F", True),
    ]
