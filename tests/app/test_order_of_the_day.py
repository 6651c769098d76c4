"""The order of a day as the records tell it, and how it follows what happens."""

import json

import pytest

from closedcup.app.usecases import beginning, planning, results, verifying
from closedcup.app.usecases.ordering_day import order_of_the_day
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
    assert "last verified on 2026-03-02" in order_of_the_day(opened)["entries"][0]["why"]


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


@pytest.mark.usefixtures("opened")
def test_the_command_prints_the_list(command, opened, request_test):
    planned(opened, request_test, "d3828-b")
    status, out, err = command("day", "--chilled", "S-1", "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert {"now", "entries", "ends", "left_out"} <= answer.keys()
    wanted = "begins ends minutes what apparatus test sample cup_c why"
    assert all(set(wanted.split()) == one.keys() for one in answer["entries"])
    status, out, _ = command("day")
    assert status == 0
    assert "verification" in out
