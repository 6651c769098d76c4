"""The decision tables: operators at their limits, order of severity, evidence and refusals."""

import datetime as dt
import re
from dataclasses import replace
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.classification import Evidence, classify, classify_regime, regimes
from closedcup.classification.acceptance import test_methods as methods_on_file
from closedcup.classification.evidence import LABELS
from closedcup.classification.regimes import editions
from closedcup.classification.tables import bibliography
from closedcup.errors import InputError, Refused
from closedcup.quantities import parse_temperature

FLASH_C = st.one_of(
    st.floats(-60, 140),
    st.sampled_from(
        [-18, -6.7, -5, -1, 5, 10, 17, 22.8, 23, 35, 37.8, 38, 55, 60, 65.6, 75, 93, 93.4, 100]
    ).flatmap(lambda c: st.sampled_from([c - 1e-6, float(c), c + 1e-6])),
)

# The regulations, and one of the fuel specifications, which are all of one shape.
REGULATIONS = {
    regime.name: regime
    for regime in regimes()
    if regime.classes != ("Fails", "Meets") or regime.name == "EN 590"
}


def maybe(strategy):
    return st.none() | strategy


EVIDENCE = st.builds(
    Evidence,
    flash_c=FLASH_C,
    boiling_c=maybe(st.floats(0, 300)),
    sustains_combustion=maybe(st.booleans()),
    fire_point_c=maybe(st.floats(181, 250)),
    viscosity_mm2_s=maybe(st.floats(1, 1000)),
    flow_time_s=maybe(st.floats(1, 150)),
    cup_jet_mm=maybe(st.sampled_from([4.0, 6.0])),
    separation_percent=maybe(st.floats(0, 6)),
    other_hazards=maybe(st.booleans()),
    class3_percent=maybe(st.floats(0, 100)),
    water_mass_percent=maybe(st.floats(0, 99)),
    alcohol_volume_percent=maybe(st.floats(0, 99)),
    high_flash_volume_percent=maybe(st.floats(95, 100)),
    carried_at_c=maybe(st.floats(0, 120)),
    receptacle_l=maybe(st.floats(1, 1000)),
    product=maybe(
        st.sampled_from(["paint", "diesel", "spirit", "ethanol solution", "consumer product"])
    ),
    mode=maybe(st.sampled_from(["road", "sea", "air", "ground"])),
)


def classes_allowed(regime, answer):
    """Return the ranks (0 the most severe) of the classes that an answer leaves open."""
    stem, _, last = answer.classification.partition(" or ")
    prefix = stem.rpartition(" ")[0]
    words = [stem, *(w for w in last.split(" or ") if w)]
    full = [w if w in regime.classes else f"{prefix} {w}" for w in words]
    return {regime.classes.index(w) for w in full}


@pytest.mark.parametrize("name", REGULATIONS)
@settings(max_examples=25, deadline=None)
@given(evidence=EVIDENCE, higher_c=FLASH_C)
def test_a_higher_flash_point_never_gives_a_more_severe_class(name, evidence, higher_c):
    regime = REGULATIONS[name]
    # Some rules are not monotone by themselves: relief from Category 3 (GHS) and from class 3
    # (49 CFR) ends at 60 °C, where a milder class without it begins.
    if name == "GHS":
        evidence = replace(evidence, sustains_combustion=None)
    if name == "49 CFR":
        evidence = replace(
            evidence,
            high_flash_volume_percent=None,
            fire_point_c=None,
            water_mass_percent=None,
            product=None,
        )
    low_c, high_c = sorted((evidence.flash_c, higher_c))
    low = classify_regime(replace(evidence, flash_c=low_c), name)
    high = classify_regime(replace(evidence, flash_c=high_c), name)
    assert min(classes_allowed(regime, low)) <= min(classes_allowed(regime, high))
    assert max(classes_allowed(regime, low)) <= max(classes_allowed(regime, high))


@pytest.mark.parametrize("name", REGULATIONS)
@settings(max_examples=25, deadline=None)
@given(evidence=EVIDENCE, low_c=FLASH_C, width_c=st.floats(0.01, 40), share=st.floats(0.01, 1))
def test_what_a_flash_no_flash_test_decides_holds_for_every_flash_point_inside(
    name, evidence, low_c, width_c, share
):
    regime = REGULATIONS[name]
    side = replace(evidence, flash_c=None, no_flash_at_c=low_c, flash_at_c=low_c + width_c)
    inside = replace(evidence, flash_c=low_c + share * width_c)
    allowed = classes_allowed(regime, classify_regime(side, name))
    found = classes_allowed(regime, classify_regime(inside, name))
    assert found <= allowed


@pytest.mark.parametrize("name", ["GHS", "CLP", "UN class 3", "RCRA", "NFPA 704", "49 CFR", "CCCR"])
@settings(max_examples=40, deadline=None)
@given(
    evidence=EVIDENCE,
    taken=st.sets(
        st.sampled_from(
            [
                "sustains_combustion",
                "fire_point_c",
                "water_mass_percent",
                "receptacle_l",
                "high_flash_volume_percent",
            ]
        ),
        min_size=1,
    ),
)
def test_taking_relief_evidence_away_never_lowers_the_class(name, evidence, taken):
    regime = REGULATIONS[name]
    with_it = classify_regime(evidence, name)
    without = classify_regime(replace(evidence, **dict.fromkeys(taken)), name)
    assert min(classes_allowed(regime, without)) <= min(classes_allowed(regime, with_it))


@settings(max_examples=40, deadline=None)
@given(flash_c=FLASH_C, boiling_c=maybe(st.floats(0, 300)))
def test_fahrenheit_limits_and_celsius_limits_of_one_rule_agree(flash_c, boiling_c):
    evidence = Evidence(flash_c=flash_c, boiling_c=boiling_c)
    osha = classify_regime(evidence, "OSHA")
    ghs = classify_regime(evidence, "GHS")
    assert osha.classification == ghs.classification
    assert osha.margin_c == pytest.approx(ghs.margin_c)


@pytest.mark.parametrize(
    ("regime", "limit", "below", "at", "above"),
    [
        ("GHS", "23 degC", "Category 2", "Category 3", "Category 3"),
        ("GHS", "60 degC", "Category 3", "Category 3", "Category 4"),
        ("GHS", "93 degC", "Category 4", "Category 4", "Not classified"),
        ("CLP", "60 degC", "Category 3", "Category 3", "Not classified"),
        ("OSHA", "73.4 degF", "Category 2", "Category 3", "Category 3"),
        ("OSHA", "199.4 degF", "Category 4", "Category 4", "Not classified"),
        ("UN class 3", "23 degC", "PG II", "PG III", "PG III"),
        ("UN class 3", "60 degC", "PG III", "PG III", "Not class 3"),
        ("RCRA", "140 degF", "D001", "Not D001", "Not D001"),
        ("NFPA 30", "22.8 degC", "IB", "IC", "IC"),
        ("NFPA 30", "37.8 degC", "IC", "II", "II"),
        ("NFPA 30", "60 degC", "II", "IIIA", "IIIA"),
        ("NFPA 30", "93 degC", "IIIA", "IIIB", "IIIB"),
        ("NFPA 704", "93.4 degC", "2", "1", "1"),
        ("49 CFR", "93 degC", "Combustible liquid", "Not regulated", "Not regulated"),
        ("CPSC", "20 degF", "Extremely flammable", "Extremely flammable", "Flammable"),
        ("CPSC", "100 degF", "Flammable", "Combustible", "Combustible"),
        ("CCCR", "37.8 degC", "Flammable", "Flammable", "Combustible"),
        ("EN 590", "55 degC", "Fails", "Fails", "Meets"),
        ("SOLAS II-2", "60 degC", "Fails", "Meets", "Meets"),
    ],
)
def test_operators_one_millionth_beside_each_limit(regime, limit, below, at, above):
    limit_c = parse_temperature(limit).c
    for shift_c, expected in ((-1e-6, below), (0.0, at), (1e-6, above)):
        answer = classify_regime(Evidence(flash_c=limit_c + shift_c, boiling_c=150.0), regime)
        assert answer.classification == expected
        assert answer.margin_c == pytest.approx(shift_c, abs=1e-9)


def test_without_a_boiling_point_the_class_stays_open():
    answer = classify_regime(Evidence(flash_c=10.0), "GHS")
    assert answer.classification == "Category 1 or 2"
    assert answer.missing == ("initial boiling point",)
    assert answer.hazard_statement == "H224 or H225"


def test_relief_that_is_not_given_lists_what_it_needs():
    answer = classify_regime(Evidence(flash_c=40.0, boiling_c=150.0), "UN class 3")
    assert answer.classification == "PG III"
    assert LABELS["sustains_combustion"] in answer.missing
    viscous = Evidence(flash_c=18.0, boiling_c=100.0, flow_time_s=40.0, cup_jet_mm=4.0)
    answer = classify_regime(viscous, "UN class 3")
    assert answer.classification == "PG II"
    assert LABELS["receptacle_l"] in answer.missing


def test_viscosity_and_flow_time_that_contradict_each_other_give_no_relief():
    evidence = Evidence(
        flash_c=12.0,
        boiling_c=100.0,
        receptacle_l=5.0,
        viscosity_mm2_s=60.0,
        flow_time_s=80.0,
        cup_jet_mm=4.0,
    )
    assert classify_regime(evidence, "UN class 3").classification == "PG II"


def test_what_a_relief_supposes_is_said_and_denied_when_known_not_to_hold():
    evidence = Evidence(flash_c=18.0, boiling_c=100.0, viscosity_mm2_s=60.0, receptacle_l=5.0)
    answer = classify_regime(evidence, "UN class 3")
    assert answer.classification == "PG III"
    assert len(answer.provided) == 2
    corrosive = classify_regime(replace(evidence, other_hazards=True), "UN class 3")
    assert corrosive.classification == "PG II"


def test_no_relief_for_a_liquid_offered_at_or_above_its_flash_point():
    evidence = Evidence(flash_c=50.0, boiling_c=150.0, sustains_combustion=False, carried_at_c=50.0)
    assert classify_regime(evidence, "UN class 3").classification == "PG III"
    cooler = replace(evidence, carried_at_c=49.9)
    assert classify_regime(cooler, "UN class 3").classification == "Not class 3"


def test_the_margin_is_to_the_limit_that_decides_under_the_evidence():
    assert classify_regime(Evidence(flash_c=58.5), "RCRA").margin_c == pytest.approx(-1.5)
    relieved = Evidence(flash_c=37.0, boiling_c=150.0, sustains_combustion=False)
    answer = classify_regime(relieved, "UN class 3")
    assert (answer.margin_c, answer.nearest_limit) == (2.0, "> 35 °C")


def test_a_method_that_the_regime_does_not_name_is_indicative():
    answers = {a.regime: a for a in classify(Evidence(flash_c=61.5, method_id="d3828-b"))}
    assert answers["RCRA"].indicative
    assert answers["RCRA"].classification == "Not D001"
    assert answers["RCRA"].notes[0].startswith("Indicative:")
    assert not answers["UN class 3"].indicative


def test_both_readings_of_a_limit_printed_twice_are_told():
    answer = classify_regime(Evidence(flash_c=22.79, boiling_c=80.0), "NFPA 30")
    assert answer.classification == "IB"
    assert any("IC if 73 °F (22.78 °C) governs" in note for note in answer.notes)


def test_rounding_across_a_limit_is_flagged_and_does_not_decide():
    answer = classify_regime(Evidence(flash_c=60.2, reported_c=60.0), "CLP")
    assert answer.classification == "Not classified"
    assert any("rounded to 60 °C it would read Category 3" in note for note in answer.notes)


def test_a_calculated_value_lowers_no_class_and_is_never_a_test_result():
    near = classify_regime(Evidence(flash_c=64.9, calculated=True), "CLP")
    assert near.classification == "Category 3 or Not classified"
    assert near.missing == ("measured flash point",)
    far = classify_regime(Evidence(flash_c=65.0, calculated=True), "CLP")
    assert far.classification == "Not classified"
    assert far.provided
    for answer in (near, far):
        assert answer.indicative
        assert "not a test result" in answer.notes[0]
    other = classify_regime(Evidence(flash_c=75.0, calculated=True), "RCRA")
    assert other.missing == ("measured flash point",)


def test_no_flash_at_a_limit_leaves_open_what_lies_above_it():
    evidence = Evidence(no_flash_at_c=60.0)
    assert classify_regime(evidence, "UN class 3").classification == "Not class 3"
    ghs = classify_regime(evidence, "GHS")
    assert ghs.classification == "Category 4 or Not classified"
    assert ghs.margin_c is None
    assert any("does not show that the liquid is not flammable" in note for note in ghs.notes)


@pytest.mark.parametrize("reason", ["no_flash_to_boiling", "masked", "halogenated"])
def test_no_class_without_an_honest_flash_point(reason):
    with pytest.raises(Refused) as refusal:
        classify(Evidence(flash_c=50.0, **{reason: True}))
    assert refusal.value.kind == "no-class"
    assert "not flammable" in refusal.value.what


@pytest.mark.parametrize(
    ("entered", "error", "kind"),
    [
        ({"flash_c": 60.0, "method_id": "d92"}, Refused, "open-cup"),
        ({"flash_c": 60.0, "method_id": "d93"}, InputError, "unknown-method"),
        ({"boiling_c": 80.0}, InputError, "flash-point-missing"),
        ({"flash_c": 60.0, "water_mass_percent": 101.0}, InputError, "impossible-percentage"),
        ({"flash_c": float("nan")}, InputError, "not-finite"),
        ({"no_flash_at_c": 61.0, "flash_at_c": 60.0}, InputError, "contradictory-evidence"),
        ({"flash_c": 60.0, "flow_time_s": 0.0}, InputError, "not-positive"),
    ],
)
def test_bad_input_says_what_and_how_to_fix_it(entered, error, kind):
    with pytest.raises(error) as raised:
        classify(Evidence(**entered))
    assert raised.value.kind == kind
    assert raised.value.fix or kind == "not-finite"


def test_an_unknown_regime_suggests_the_nearest_and_an_uncovered_date_is_refused():
    evidence = Evidence(flash_c=60.0)
    with pytest.raises(InputError, match="Did you mean “NFPA 30”"):
        classify_regime(evidence, "NFPA30")
    with pytest.raises(Refused, match="No edition of CLP"):
        classify_regime(evidence, "CLP", dt.date(2010, 1, 1))


def test_the_rule_in_force_on_the_day_decides():
    evidence = Evidence(flash_c=40.0, water_mass_percent=45.0, alcohol_volume_percent=20.0)
    before = classify_regime(evidence, "RCRA", dt.date(2020, 9, 7))
    since = classify_regime(evidence, "RCRA", dt.date(2020, 9, 8))
    assert (before.classification, since.classification) == ("Not D001", "D001")
    assert since.in_force == "2020-09-08"


def test_every_answer_carries_clause_edition_rule_and_source():
    evidence = Evidence(flash_c=61.5, method_id="d3828-b", mode="ground", product="marine fuel oil")
    answers = classify(evidence)
    assert {"GHS", "CLP", "OSHA", "UN class 3", "RCRA", "NFPA 30", "NFPA 704", "49 CFR"} <= {
        answer.regime for answer in answers
    }
    assert "SOLAS II-2" in {answer.regime for answer in answers}
    for answer in answers:
        printed = answer.as_json()
        assert all(printed[key] for key in ("classification", "clause", "edition", "rule"))
        assert printed["sources"]


def test_the_tables_name_only_methods_on_file_and_no_open_cup():
    closed = {key for key, method in methods_on_file().items() if method.closed_cup}
    for regime in editions():
        assert regime.methods.method_ids <= closed, regime.name


def test_every_source_on_the_list_is_used():
    data = files("closedcup.classification") / "data"
    tables = [*(data / "regimes").iterdir(), *data.iterdir()]
    text = " ".join(t.read_text(encoding="utf-8") for t in tables if t.is_file())
    words = re.split(r'[\s,"+]+', text)
    assert [key for key in bibliography().citations if words.count(key) < 2] == []
