"""What evidence does: relief by more rules, contradictions, methods and their editions."""

import pytest

from closedcup.classification import Evidence, classify, classify_regime
from closedcup.errors import InputError


def classification(regime, **evidence):
    return classify_regime(Evidence(**evidence), regime).classification


@pytest.mark.parametrize(
    ("evidence", "expected"),
    [
        # 49 CFR 173.121(b): 90 s through the 4 mm jet and a flash point of 21.1 °C.
        ({"flash_c": 21.1, "flow_time_s": 90.0, "cup_jet_mm": 4.0, "receptacle_l": 20.0}, "PG III"),
        ({"flash_c": 21.1, "flow_time_s": 90.0, "cup_jet_mm": 4.0}, "PG II"),
        ({"flash_c": -20.0, "viscosity_mm2_s": 701.0, "receptacle_l": 30.0}, "PG III"),
        ({"flash_c": -20.0, "viscosity_mm2_s": 701.0, "receptacle_l": 31.0}, "PG II"),
        ({"flash_c": 50.0, "fire_point_c": 100.5}, "Not regulated"),
        ({"flash_c": 50.0, "fire_point_c": 100.0}, "PG III"),
        ({"flash_c": 50.0, "water_mass_percent": 90.1}, "Not regulated"),
        ({"flash_c": 70.0, "bulk": False}, "Not regulated"),
        ({"flash_c": 70.0, "bulk": True}, "Combustible liquid"),
        (
            {"flash_c": 26.0, "alcohol_volume_percent": 24.0, "water_mass_percent": 80.0},
            "Not regulated",
        ),
        (
            {"flash_c": 26.0, "alcohol_volume_percent": 24.0, "water_mass_percent": 40.0},
            "Combustible liquid",
        ),
        ({"flash_c": 26.0, "alcohol_volume_percent": 24.1, "water_mass_percent": 80.0}, "PG III"),
        ({"flash_c": 26.0, "product": "spirit", "receptacle_l": 5.0}, "Not regulated"),
        (
            {"flash_c": 26.0, "product": "spirit", "receptacle_l": 250.0, "mode": "sea"},
            "Not regulated",
        ),
        ({"flash_c": 26.0, "product": "spirit", "receptacle_l": 250.0, "mode": "air"}, "PG III"),
    ],
)
def test_relief_of_49_cfr_rests_on_its_evidence(evidence, expected):
    assert classification("49 CFR", boiling_c=80.0, **evidence) == expected


@pytest.mark.parametrize(
    ("regime", "evidence", "expected"),
    [
        ("CLP", {"flash_c": 10.0, "boiling_c": 80.0, "aerosol": True}, "Not classified"),
        (
            "UN class 3",
            {"flash_c": 10.0, "boiling_c": 80.0, "vapour_pressure_50_kpa": 301.0},
            "Not class 3",
        ),
        ("UN class 3", {"flash_c": 75.0, "product": "diesel", "mode": "sea"}, "Not class 3"),
        ("UN class 3", {"flash_c": 75.0, "product": "diesel", "mode": "road"}, "PG III"),
        ("NFPA 704", {"no_flash_at_c": 110.0, "burns": False}, "0"),
        ("Old sea divisions", {"flash_c": -18.0}, "Division 3.2"),
        (
            "46 CFR",
            {"flash_c": 20.0, "open_cup_c": 26.6, "reid_vapour_pressure_kpa": 60.0},
            "Grade B",
        ),
        ("ASTM D6751 alcohol control", {"flash_c": 129.9}, "Fails"),
    ],
)
def test_special_cases(regime, evidence, expected):
    assert classification(regime, **evidence) == expected


def test_environmentally_hazardous_viscous_liquids_are_free_in_small_packagings_only():
    evidence = {
        "flash_c": 30.0,
        "boiling_c": 120.0,
        "flow_time_s": 60.0,
        "cup_jet_mm": 6.0,
        "mode": "road",
        "environmentally_hazardous": True,
    }
    assert classification("UN class 3", receptacle_l=5.0, **evidence) == "Not class 3"
    assert classification("UN class 3", receptacle_l=6.0, **evidence) == "PG III"


@pytest.mark.parametrize(
    "evidence",
    [
        {"flash_c": 60.0, "fire_point_c": 55.0},
        {"flash_c": 60.0, "burns": False},
        {"no_flash_at_c": 60.0, "burns": False, "sustains_combustion": True},
        {"flash_c": 60.0, "water_mass_percent": 100.0, "alcohol_volume_percent": 5.0},
    ],
)
def test_evidence_that_contradicts_itself_is_refused(evidence):
    with pytest.raises(InputError) as raised:
        classify(Evidence(**evidence))
    assert raised.value.kind == "contradictory-evidence"
    assert raised.value.fix


def test_a_method_outside_its_range_or_not_for_viscous_liquids_only_indicates():
    outside = classify_regime(Evidence(flash_c=20.0, boiling_c=80.0, method_id="d93-a"), "GHS")
    assert outside.method_accepted is False
    assert "outside the range" in " ".join(outside.notes)
    thick = Evidence(flash_c=30.0, boiling_c=120.0, method_id="d56", viscosity_mm2_s=200.0)
    assert "viscous" in classify_regime(thick, "UN class 3").notes[0]


def test_a_regime_that_names_editions_tells_them():
    answer = classify_regime(Evidence(flash_c=61.5, method_id="d93-a"), "RCRA")
    assert answer.method_accepted
    assert "D93-79 or D93-80" in answer.notes[0]


def test_near_a_limit_good_practice_asks_to_confirm_and_can_be_switched_off():
    evidence = Evidence(flash_c=61.0, method_id="iso-2719-a")
    said = classify_regime(evidence, "CLP").notes
    assert any(note.startswith("Good practice: confirm by an equilibrium") for note in said)
    quiet = classify_regime(evidence, "CLP", good_practice=False).notes
    assert not any("equilibrium" in note for note in quiet)
    binding = classify_regime(evidence, "UN class 3", good_practice=False).notes
    assert any(note.startswith("Confirm by an equilibrium method") for note in binding)


def test_a_regime_for_consumers_says_what_it_supposes_and_leaves_other_products_alone():
    asked = {answer.regime: answer for answer in classify(Evidence(flash_c=40.0))}
    assert any("sold to consumers" in note for note in asked["CPSC"].notes)
    known = {answer.regime for answer in classify(Evidence(flash_c=40.0, product="diesel"))}
    assert not known & {"CPSC", "CCCR"}


def test_old_divisions_come_only_when_asked():
    evidence = Evidence(flash_c=40.0)
    usual = {answer.regime for answer in classify(evidence)}
    every = {answer.regime for answer in classify(evidence, all_on_file=True)}
    assert every - usual == {"Old sea divisions", "46 CFR"}


def test_an_answer_names_the_evidence_that_it_looked_at():
    evidence = Evidence(flash_c=40.0, boiling_c=150.0, sustains_combustion=False, used_at_c=20.0)
    answer = classify_regime(evidence, "UN class 3")
    assert [(one.name, one.value) for one in answer.inputs] == [
        ("flash_c", "40 °C"),
        ("sustains_combustion", "no"),
    ]
    table = classify_regime(Evidence(flash_c=20.0, boiling_c=150.0), "GHS")
    assert ("boiling_c", "150 °C") in [(one.name, one.value) for one in table.inputs]
