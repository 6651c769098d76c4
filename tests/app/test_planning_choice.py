"""The plan chooses start and apparatus where the method leaves them free, and says why."""

import json
from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import cup_rates, establishing, verification_due, verifying
from closedcup.app.usecases.bench import beginning, benching
from closedcup.app.usecases.desk import samples
from closedcup.app.usecases.planning import advising, planning
from closedcup.app.usecases.results import results
from closedcup.errors import Refused
from closedcup.laboratory import (
    Apparatus,
    Component,
    Composition,
    RequestedTest,
    Sample,
    ServiceAnswer,
    service_checklist,
)
from closedcup.quantities import parse_pressure, parse_temperature

PRESSURE = parse_pressure("84.1 kPa")
GOOD = tuple(parse_temperature(f"{value} degC") for value in (49.5, 50.0))


def another(opened, name, *, low=-20, high=300, in_service=True):
    establishing.register_apparatus(
        opened,
        Apparatus(name, "small-scale cup", "2", "bench B", ("d3828-b",), low, high, "gas"),
    )
    if in_service:
        answers = tuple(
            ServiceAnswer(item.id, done=True, finding="as asked")
            for item in service_checklist().items
        )
        establishing.put_into_service(opened, name, answers)


def received(opened, name, volume_ml=200):
    return samples.receive_sample(
        opened,
        Sample(
            name,
            "Thinner",
            "Somebody",
            "desk",
            opened.clock().isoformat(),
            "clear",
            "glass",
            Decimal(volume_ml),
            Composition("declared", "mass", (Component("n-decane", Decimal(1)),)),
            kind="petroleum",
        ),
    )


def requested(opened, sample):
    return samples.request_test(
        opened,
        RequestedTest(samples.next_test_id(opened, sample), sample, "d3828-b", "finite"),
    )


def test_the_plan_says_what_it_believes_and_what_it_takes(opened, request_test):
    plan = planning.make_plan(opened, request_test().id, "SC-1", PRESSURE)
    planned, belief = plan["planned"], plan["belief"]
    assert plan["starting_cup_c"] == planned["start_cup_c"] <= planned["usual_start_cup_c"]
    assert planned["specimens"] >= 2
    assert planned["minutes"] > 0
    assert belief["low_corrected_c"] < belief["mean_corrected_c"] < belief["high_corrected_c"]
    assert plan["rates_assumed"] is True
    assert any("specimens" in line for line in plan["why"])


def test_the_start_never_lies_above_what_points_low(opened, request_test):
    low = parse_temperature("-4 degC")
    plan = planning.make_plan(opened, request_test().id, "SC-1", PRESSURE, expected=low)
    assert plan["starting_cup_c"] <= -4 - 4


def test_the_apparatus_in_control_is_chosen_then_the_quicker_one(opened, request_test):
    another(opened, "SC-2")
    another(opened, "SC-3", low=40)
    another(opened, "SC-4", in_service=False)
    verifying.verify_apparatus(opened, "SC-2", "RM-1", GOOD)
    test = request_test()
    plan = planning.make_plan(opened, test.id, "", PRESSURE)
    why = " ".join(plan["apparatus_why"])
    assert plan["apparatus"] == "SC-2"
    assert "SC-3 is left out: its cup cools to 40 °C" in why
    assert "SC-4 is left out: it is not yet in service." in why
    assert "SC-1 comes after it: in service, not verified" in why
    verifying.verify_apparatus(opened, "SC-1", "RM-1", GOOD)
    cup_rates.note_rates(opened, "SC-2", 10, 0.2, "stop watch")
    assert planning.make_plan(opened, test.id, "", PRESSURE)["apparatus"] == "SC-1"


def test_an_overdue_verification_comes_after_one_that_is_not(opened, request_test, clock):
    another(opened, "SC-2")
    verifying.verify_apparatus(opened, "SC-1", "RM-1", GOOD)
    verification_due.decide_interval(opened, 7, "control chart is steady")
    clock.forward(days=8)
    verifying.verify_apparatus(opened, "SC-2", "RM-1", GOOD)
    plan = planning.make_plan(opened, request_test().id, "", PRESSURE)
    assert plan["apparatus"] == "SC-2"
    assert "SC-1 comes after it: in control, its verification overdue" in plan["apparatus_why"][1]


def test_without_an_apparatus_each_is_told_why_not(opened, request_test, monkeypatch):
    test = request_test("d3828-b")
    monkeypatch.setattr(type(opened.state), "apparatus_state", lambda *_: "out of control")
    with pytest.raises(Refused, match="SC-1 is left out: it is out of control"):
        planning.make_plan(opened, test.id, "", PRESSURE)


def test_released_results_on_like_samples_are_part_of_the_belief(opened, follow):
    verifying.verify_apparatus(opened, "SC-1", "RM-1", GOOD)
    for number in range(1, 4):
        received(opened, f"S-{number}")
        test = requested(opened, f"S-{number}")
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
        follow(series.id, 46.3)
        result = results.issue_result(opened, test.id)
        results.release_result(opened, result.id)
    received(opened, "S-9")
    plan = planning.make_plan(opened, requested(opened, "S-9").id, "SC-1", PRESSURE)
    assert len(plan["earlier_results"]) == 3
    assert plan["belief"]["from"] == "the estimate and 3 earlier results"
    assert plan["expected_corrected_c"] == pytest.approx(46.3, abs=1.5)


def test_a_sample_that_is_used_up_is_not_planned(opened):
    received(opened, "S-1", volume_ml=1)
    with pytest.raises(Refused, match="1 mL of S-1 is left; a specimen takes 2 mL"):
        planning.make_plan(opened, requested(opened, "S-1").id, "SC-1", PRESSURE)


def test_a_flash_point_50_degrees_off_is_found_and_said(opened, request_test, follow):
    """Nothing is lost: the procedure goes on, and the belief follows what was seen."""
    test = request_test()
    planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
    view = follow(series.id, 60.0)
    assert view.outcome.kind == "flash point"
    told = advising.next_temperature(opened, series.id)
    assert 59 < told["belief"]["mean_corrected_c"] < 66
    assert "outside" in told["warnings"][0]
    assert "Nothing observed is lost" in told["warnings"][0]
    made = benching.bench(opened, series.id).series.moves
    assert len(made) > 20


def test_the_command_chooses_and_explains(command, opened, request_test):
    test = request_test()
    status, out, _ = command("plan", test.id, "--pressure", "84.1 kPa")
    assert status == 0
    assert "SC-1 is chosen" in out
    assert "believed" in out
    status, out, _ = command("plan", test.id, "--pressure", "84.1 kPa", "--json")
    assert json.loads(out)["apparatus"] == "SC-1"
    assert opened.state.plans[test.id].start["apparatus"] == "SC-1"
