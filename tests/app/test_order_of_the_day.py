"""The order of a day as the records tell it, and how it follows what happens."""

import json

import pytest

from closedcup.app.usecases.apparatus import verification_due, verifying
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.desk import chilling
from closedcup.app.usecases.people import qualifying, working_rules
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.planning.ordering_day import order_of_the_day
from closedcup.app.usecases.results import results
from closedcup.errors import InputError
from closedcup.quantities import parse_pressure, parse_temperature

PRESSURE = parse_pressure("84.1 kPa")


def planned(opened, request_test, *methods):
    tests = [request_test(each) for each in methods]
    for test in tests:
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    return tests


def kinds(answer):
    return [(one["what"], one["test"]) for one in answer["entries"]]


def test_the_day_follows_what_happens(opened, request_test, follow, clock):
    first, second = planned(opened, request_test, "d3828-b", "d3828-b")
    asked = request_test("d3828-b")
    answer = order_of_the_day(opened, chilled=["S-1"])
    assert kinds(answer)[0] == ("verification", None)
    assert [test for what, test in kinds(answer) if what == "test"] == [first.id, second.id]
    assert [one["test"] for one in answer["left_out"]] == [asked.id]
    assert answer["entries"][0]["begins"] == clock().isoformat()
    assert answer["ends"] == answer["entries"][-1]["ends"]

    good = tuple(parse_temperature(f"{value} degC") for value in (49.5, 50.0))
    verifying.verify_apparatus(opened, "SC-1", "RM-1", good)
    clock.forward(minutes=40)
    series = beginning.begin_series(opened, second.id, "SC-1", PRESSURE, pressure_kind="station")
    answer = order_of_the_day(opened, chilled=["S-1"])
    assert "verification" not in [what for what, _ in kinds(answer)]
    assert [test for what, test in kinds(answer) if what == "test"] == [second.id, first.id]

    follow(series.id, 4.7)
    results.issue_result(opened, second.id)
    answer = order_of_the_day(opened, chilled=["S-1"])
    assert [test for what, test in kinds(answer) if what == "test"] == [first.id]

    clock.forward(days=1)
    entries = order_of_the_day(opened)["entries"]
    verification = next(one for one in entries if one["what"] == "verification")
    assert "last verified on 2026-03-02" in verification["why"]


def test_a_volatile_sample_is_not_opened_warm(opened, request_test):
    (test,) = planned(opened, request_test, "d3828-b")
    entries = order_of_the_day(opened)["entries"]
    assert [one["what"] for one in entries][-2:] == ["wait", "test"]
    made = entries[-1]
    plan = opened.state.plans[test.id]
    assert made["cup_c"] == plan.start_cup_c
    below_c = float(made["why"].split("Open only at ")[1].split(" ")[0])
    assert below_c <= plan.estimate["low_c"] - 10 - 4.3  # chilled, at the station's pressure
    warm = order_of_the_day(opened, room=parse_temperature("-40 degC"))["entries"]
    assert "wait" not in [one["what"] for one in warm]


def test_an_unknown_sample_is_named(opened):
    with pytest.raises(InputError, match="no sample"):
        order_of_the_day(opened, chilled=["S-77"])


def test_what_was_noted_of_a_sample_counts(opened, request_test, clock, command):
    planned(opened, request_test, "d3828-b")
    assert order_of_the_day(opened)["entries"][0]["what"] == "chill"
    chilling.note_chilling(opened, "S-1")
    clock.forward(minutes=45)
    entries = order_of_the_day(opened)["entries"]
    assert "chill" not in [one["what"] for one in entries]
    good = tuple(parse_temperature(f"{value} degC") for value in (49.5, 50.0))
    verifying.verify_apparatus(opened, "SC-1", "RM-1", good)
    waits = [one for one in order_of_the_day(opened)["entries"] if one["what"] == "wait"]
    assert waits[0]["minutes"] == pytest.approx(15)
    chilling.note_chilling(opened, "S-1", parse_temperature("-3 degC"))
    waits = [one for one in order_of_the_day(opened)["entries"] if one["what"] == "wait"]
    assert waits[0]["minutes"] == pytest.approx(60)  # too warm: the whole time from here
    chilling.note_chilling(opened, "S-1", parse_temperature("-18 degC"))
    assert "wait" not in [one["what"] for one in order_of_the_day(opened)["entries"]]
    assert command("chill", "S-1", "--shows", "180 degC")[0] == 2
    assert command("chill", "S-1")[0] == 0
    assert "the sample showed -18" in command("history", "S-1")[1]


def test_two_analysts_do_not_do_each_others_work(opened, request_test):
    planned(opened, request_test, "d3828-b", "d3828-b")
    answer = order_of_the_day(opened, chilled=["S-1"], analysts=["at", "bw"])
    assert answer["analysts"] == ["at", "bw"]
    assert {one["analyst"] for one in answer["entries"]} <= {"at", "bw"}
    tests = [one["test"] for one in answer["entries"] if one["what"] == "test"]
    assert len(tests) == len(set(tests)) == 2
    with pytest.raises(InputError, match="no person"):
        order_of_the_day(opened, analysts=["nobody"])
    with pytest.raises(InputError, match="twice"):
        order_of_the_day(opened, analysts=["at", "at"])


def test_only_who_is_authorised_is_given_a_test_where_that_is_asked(opened, request_test):
    (test,) = planned(opened, request_test, "d3828-b")
    working_rules.decide_rules(
        opened, four_eyes=None, authorisation=True, reason="the method is hard"
    )
    answer = order_of_the_day(opened, chilled=["S-1"], analysts=["at", "bw"])
    assert [one["test"] for one in answer["left_out"]] == [test.id]
    assert "authorised" in answer["left_out"][0]["why"]
    qualifying.grant(opened, "bw", "d3828-b", until="2027-01-01", evidence="seen at work")
    answer = order_of_the_day(opened, chilled=["S-1"], analysts=["at", "bw"])
    assert [one["analyst"] for one in answer["entries"] if one["what"] == "test"] == ["bw"]


def test_an_interval_that_was_decided_says_when_a_verification_is_due(opened, request_test, clock):
    planned(opened, request_test, "d3828-b")
    good = tuple(parse_temperature(f"{value} degC") for value in (49.5, 50.0))
    verifying.verify_apparatus(opened, "SC-1", "RM-1", good)
    verification_due.decide_interval(opened, 7, "control chart is steady")
    clock.forward(days=3)
    kinds_now = [what for what, _ in kinds(order_of_the_day(opened, chilled=["S-1"]))]
    assert "verification" not in kinds_now
    clock.forward(days=5)
    entries = order_of_the_day(opened, chilled=["S-1"])["entries"]
    assert "due on 2026-03-09" in entries[0]["why"]


def test_a_begun_series_counts_with_what_it_still_needs(opened, request_test, follow, clock):
    (test,) = planned(opened, request_test, "d3828-b")
    series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
    before = order_of_the_day(opened)["entries"][-1]
    follow(series.id, 4.7)
    after = order_of_the_day(opened)["entries"][-1]
    assert (before["test"], after["test"]) == (test.id, test.id)
    assert after["minutes"] < before["minutes"]


def test_a_ramp_takes_its_time_and_a_low_expectation_asks_for_cold(opened, request_test):
    ramp, low = request_test("d7236"), request_test("d3828-b")
    expected = parse_temperature("45 degC")
    plan = planning.make_plan(opened, ramp.id, "SC-1", PRESSURE, expected=expected)
    planning.make_plan(opened, low.id, "SC-1", PRESSURE, expected=parse_temperature("-15 degC"))
    answer = order_of_the_day(opened, chilled=["S-1"])
    made = {one["test"]: one for one in answer["entries"] if one["what"] == "test"}
    rise_c = plan["expected_corrected_c"] - 4.3 - plan["starting_cup_c"]
    assert made[ramp.id]["minutes"] > rise_c / 2.0  # °C a minute
    cold = {one["test"]: one["open_at_most_c"] for one in answer["to_be_cold"]}
    assert cold[low.id] <= -15 - 10 - 4


@pytest.mark.usefixtures("opened")
def test_the_command_prints_the_list(command, opened, request_test):
    planned(opened, request_test, "d3828-b")
    status, out, err = command("day", "--chilled", "S-1", "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert {"now", "entries", "ends", "left_out"} <= answer.keys()
    wanted = "begins ends minutes what apparatus test sample cup_c analyst why"
    assert all(set(wanted.split()) == one.keys() for one in answer["entries"])
    status, out, _ = command("day")
    assert status == 0
    assert "verification" in out
