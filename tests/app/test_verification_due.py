"""A verification falls due by time, a bottle is good for days, a failed check flags by itself."""

import json
from datetime import datetime
from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import (
    establishing,
    reference_materials,
    verification_due,
    verifying,
)
from closedcup.app.usecases.bench import beginning, days
from closedcup.app.usecases.bench.benching import bench
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.nonconforming import holding
from closedcup.app.usecases.nonconforming.doubts import reasons_against
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.records.history import history_of
from closedcup.app.usecases.records.records import status
from closedcup.app.usecases.results import results
from closedcup.errors import InputError, Refused
from closedcup.laboratory import ReferenceMaterial, ServiceAnswer
from closedcup.laboratory.checklist import start_of_day_checklist
from closedcup.laboratory.verification_interval import VerificationInterval, due_at
from closedcup.quantities import parse_pressure, parse_temperature

PRESSURE = parse_pressure("84.1 kPa")


def verify(opened, *results_c, material="RM-1"):
    typed = tuple(parse_temperature(f"{value} degC") for value in results_c)
    return verifying.verify_apparatus(opened, "SC-1", material, typed)


@pytest.fixture
def make_result(opened, request_test, clock, follow):
    def run():
        test = request_test()
        clock.forward(minutes=5)
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
        follow(series.id, 10.0)
        result = results.issue_result(opened, series.test)
        results.release_result(opened, result.id)
        return result.id

    return run


def moment(day):
    return datetime.fromisoformat(f"{day}T08:00:00+01:00")


@pytest.mark.parametrize(
    ("decided", "due"),
    [
        ([], None),
        ([("2026-01-01", 7)], "2026-01-12"),
        ([("2026-02-01", 7)], "2026-02-01"),  # a decision does not reach back
        ([("2026-01-01", 30), ("2026-01-10", 7)], "2026-01-12"),
        ([("2026-01-01", 7), ("2026-01-10", None)], None),
        ([("2026-01-01", 2), ("2026-01-10", 30)], "2026-01-07"),  # it was due before
    ],
)
def test_each_decision_counts_from_its_moment_to_the_next(decided, due):
    rows = [VerificationInterval("", each, moment(day).isoformat()) for day, each in decided]
    assert due_at(rows, moment("2026-01-05")) == (None if due is None else moment(due))


def test_an_overdue_verification_is_said_everywhere_and_holds_what_is_made_since(
    opened, clock, make_result
):
    verify(opened, 49.5, 50.0)
    verification_due.decide_interval(opened, 30, "monthly, as the charts allow")
    before = make_result()
    assert reasons_against(opened.state, opened.state.results[before]) == ()
    clock.forward(days=31)
    done = tuple(ServiceAnswer(item.id, done=True) for item in start_of_day_checklist().items)
    card = days.start_day(opened, "SC-1", PRESSURE, done)
    assert any("was due on 2026-04-01" in words for words in card["warnings"])
    assert any("was due on" in words for words in status(opened)["verifications_due"])
    assert overview.apparatus_states(opened)[0]["overdue"]
    with pytest.raises(Refused, match="overdue"):
        make_result()
    last = opened.state.last_series()
    assert any("what is made now is held" in words for words in bench(opened, last.id).warnings)
    after = list(opened.state.results)[-1]
    assert reasons_against(opened.state, opened.state.results[before]) == ()
    verify(opened, 49.4, 49.9)
    assert reasons_against(opened.state, opened.state.results[after]) == ()
    assert not overview.apparatus_states(opened)[0]["overdue"]


def test_an_apparatus_has_its_own_interval_and_one_without_reason_is_refused(opened, clock):
    verify(opened, 49.5)
    verification_due.decide_interval(opened, 90, "all")
    clock.forward(minutes=1)
    verification_due.decide_interval(opened, 7, "new apparatus", apparatus_id="SC-1")
    assert overview.apparatus_states(opened)[0]["due_on"] == "2026-03-09"
    with pytest.raises(InputError, match="reason"):
        verification_due.decide_interval(opened, 7, " ")
    with pytest.raises(InputError, match="is none"):
        verification_due.decide_interval(opened, 0, "none")


def test_a_failed_verification_flags_by_itself_and_the_result_can_be_let_stand(
    opened, clock, make_result
):
    verify(opened, 49.5, 50.0)
    made = make_result()
    clock.forward(minutes=5)
    answer = verify(opened, 60.0, 60.5)
    assert [each["id"] for each in answer["flagged"]] == [made]
    shown = overview.result_overview(opened, made)
    assert shown["state"] == "to be reviewed"
    assert any(answer["id"] in words for words in shown["reasons_to_hold"])
    holding.let_stand(opened, made, "checked against the retained sample")
    stands = overview.result_overview(opened, made)["reasons_to_hold"]
    assert not any(answer["id"] in words for words in stands)
    assert any("stands" in row["what"] for row in history_of(opened, made))


def receive(opened, identifier, **besides):
    facts = {
        "liquid": "test liquid",
        "lot": "1",
        "method": "d3828-b",
        "value_c": Decimal("49.7"),
        "certificate": "C",
        "expires_on": "2027-01-01",
    } | besides
    establishing.receive_reference_material(opened, ReferenceMaterial(identifier, **facts))


def test_an_open_bottle_is_good_for_its_days_only(opened, clock):
    receive(opened, "RM-2", lot="2", use_within_days=30)
    assert "not on record" in verify(opened, 49.5, material="RM-2")["warnings"][-1]
    assert reference_materials.open_bottle(opened, "RM-2", None)["use_by"] == "2026-04-01"
    assert not verify(opened, 49.5, material="RM-2")["warnings"]
    clock.forward(days=31)
    with pytest.raises(Refused, match="open for too long"):
        verify(opened, 49.5, material="RM-2")
    assert not reference_materials.standing_of(opened, "RM-2")["in_date"]
    with pytest.raises(InputError, match="still to come"):
        reference_materials.open_bottle(opened, "RM-2", "2027-02-01")
    reference_materials.open_bottle(opened, "RM-2", "2026-04-01")
    verify(opened, 49.5, material="RM-2")
    clock.forward(days=400)
    with pytest.raises(Refused, match="expired on 2027-01-01"):
        reference_materials.open_bottle(opened, "RM-2", None)
    with pytest.raises(Refused, match="expired on"):
        verify(opened, 49.5)


def test_a_value_belongs_to_liquid_lot_method_and_edition(opened):
    with pytest.raises(InputError, match=r"has 49\.7 °C .* this says 51") as refused:
        receive(opened, "RM-2", value_c=Decimal("51.0"))
    assert refused.value.kind == "evidence-contradictory"
    receive(opened, "RM-2", value_c=Decimal("51.0"), edition="2099")
    assert "edition 2099" in verify(opened, 51.2, material="RM-2")["warnings"][-1]
    receive(opened, "RM-3", value_c=Decimal("51.0"), method="d7236")


def test_the_commands(opened, command):
    opened.close()
    words = ["reference-material", "RM-5", "--liquid", "x", "--lot", "9", "--method", "d3828-b"]
    words += ["--value", "49.7 degC", "--certificate", "C-5", "--expires", "2099-06-30"]
    status_of, out, _ = command(*words, "--use-within", "90", "--edition", "2021", "--json")
    assert (status_of, json.loads(out)["edition"]) == (0, "2021")
    assert command("open-material", "RM-5")[0] == 0
    listed = json.loads(command("materials", "--json")[1])
    assert [row["material"] for row in listed] == ["RM-1", "RM-5"]
    assert listed[1]["opened_on"]
    assert "RM-5" in command("materials")[1]
    assert command("verification-interval", "30", "--reason", "monthly")[0] == 0
    rows = json.loads(command("verification-interval", "--json")[1])
    assert {"due_on", "overdue"} <= rows[0].keys()
    assert command("verification-interval", "30", "--json")[0] == 2
