"""The page that says why an apparatus is off, and the form that writes down what it needs."""

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.laboratory import VerificationConditions
from closedcup.quantities import parse_pressure, parse_temperature

PLACE = "/apparatus/SC-1/diagnosis"


def _verify(opened, results, **under):
    values = tuple(parse_temperature(f"{one} degC") for one in results)
    made_under = VerificationConditions(pressure=parse_pressure("84.6 kPa"), **under)
    verifying.verify_apparatus(opened, "SC-1", "RM-1", values, made_under=made_under)


@pytest.fixture
def with_a_worse_lid(opened):
    for lid, results in (("L1", (49.5, 50.0)), ("L2", (52.0, 51.5))):
        for _ in range(3):
            _verify(opened, results, lid=lid)
    return opened


def test_too_few_results_are_refused_and_symptoms_stand_there_all_the_same(pages) -> None:
    answer = pages.get(PLACE)
    assert answer.status_code == 200
    assert "at least 8 are needed" in answer.text
    assert "Symptoms at the bench" in answer.text
    assert "Common practice" in answer.text


def test_the_page_ranks_causes_with_evidence_test_and_caution(pages, with_a_worse_lid) -> None:
    text = pages.get(f"{PLACE}?since=SC-1-V2").text
    assert "Most likely change of lid" in text
    assert "Put the earlier lid back" in text
    assert "Caution: Change lids with the cup cool" in text
    assert "<svg" in text
    assert "Not examined" in text
    assert "°C too low, one that is corrected twice" in text


def test_the_machine_readable_page_gives_the_command_s_keys(pages, with_a_worse_lid) -> None:
    answer = pages.get("/api/apparatus/SC-1/diagnosis?since=SC-1-V2").json()
    assert answer["named"] == ["change of lid"]
    assert {"causes", "confirm_first", "not_examined", "points", "symptoms"} <= answer.keys()


def test_the_apparatus_page_leads_there(pages) -> None:
    assert PLACE in pages.get("/apparatus/SC-1").text
    assert pages.get("/apparatus/SC-7/diagnosis").status_code == 404


def test_the_form_writes_down_what_a_verification_was_made_under(pages, opened) -> None:
    form = {
        "material": "RM-1",
        "results": "49.5\n50,0",
        "pressure": "84.6 kPa",
        "correction_applied_c": "4.2",
        "heating_rate_c_per_min": "5.4",
        "lid": "L3",
        "igniter": "gas 2",
        "operator": "re",
        "order_in_day": "2",
    }
    assert pages.post("/apparatus/SC-1/verification", data=form).status_code == 303
    under = opened.state.verifications["SC-1"][-1].conditions
    assert (under.lid, under.igniter, under.operator, under.order_in_day) == (
        "L3",
        "gas 2",
        "re",
        2,
    )
    assert str(under.pressure) == "84.6 kPa"
    assert 'value="L3"' in pages.get("/apparatus/SC-1").text


def test_a_faulty_condition_is_shown_beside_its_field_and_nothing_typed_is_lost(pages) -> None:
    form = {"material": "RM-1", "results": "49.5", "pressure": "84.6", "order_in_day": "1.5"}
    answer = pages.post("/apparatus/SC-1/verification", data=form)
    assert answer.status_code == 400
    assert 'id="verification-pressure-error"' in answer.text
    assert 'id="verification-order_in_day-error"' in answer.text
    assert 'value="84.6"' in answer.text
