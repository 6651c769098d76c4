"""A result is superseded and a report amended, and what was issued stays as it was."""

import json

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.app.usecases.bench import beginning, benching
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.nonconforming import disputes
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import amending, reporting, results
from closedcup.errors import InputError, Refused
from closedcup.quantities import parse_pressure, parse_temperature

PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture
def test_again(opened, follow, clock):
    """Run one more series of a test to its end and issue the result, with true flash point."""

    def run(test, true_corrected_c):
        if test.id not in opened.state.plans:
            planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        clock.forward(minutes=5)
        series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
        assert follow(series.id, true_corrected_c).outcome is not None
        return results.issue_result(opened, test.id)

    return run


@pytest.fixture
def reported(opened, request_test, test_again):
    """Return a released and reported result and its report."""
    values = tuple(parse_temperature(text) for text in ("49.5 degC", "50.0 degC"))
    verifying.verify_apparatus(opened, "SC-1", "RM-1", values)
    result = test_again(request_test(), 10.0)
    results.release_result(opened, result.id)
    return result, reporting.issue_report(opened, result.id)


def test_a_superseded_result_and_its_report_stay_and_the_new_ones_name_them(
    opened, reported, test_again
):
    first, report = reported
    document = reporting.report_document(opened, report.number)
    test = opened.state.tests[first.test]
    with pytest.raises(Refused, match="has its result"):
        test_again(test, 14.0)
    with pytest.raises(InputError, match="who was told"):
        amending.supersede(opened, first.id, "wrong sample in the cup")
    answer = amending.supersede(opened, first.id, "wrong sample in the cup", ("somebody, 9:00",))
    assert answer["report"] == report.number
    assert overview.test_overview(opened, test.id)["state"] == "planned"
    with pytest.raises(Refused, match="superseded"):
        results.issue_result(opened, test.id)

    second = test_again(test, 14.0)
    assert (second.supersedes, second.reported_c > first.reported_c) == (first.id, True)
    results.release_result(opened, second.id)
    amended = reporting.issue_report(opened, second.id)
    record = json.loads(reporting.report_record(opened, amended.number))["report"]
    assert record["replaces"] == report.number != record["number"]
    assert "wrong sample in the cup" in record["changes"]
    assert amended.told == ("somebody, 9:00",)
    assert reporting.made_again(opened, amended.number) == reporting.report_document(
        opened, amended.number
    )

    assert reporting.report_document(opened, report.number) == document
    assert opened.state.results[first.id] == first
    [old] = overview.test_overview(opened, test.id)["superseded"]
    assert (old["report"], old["replaced_by"]) == (report.number, amended.number)


def test_a_closed_series_takes_no_entry_after_its_result_was_superseded(opened, reported):
    first, _ = reported
    amending.supersede(opened, first.id, "wrong sample", ("somebody",))
    with pytest.raises(Refused, match="no more entries"):
        benching.note_deviation(opened, first.series, "too late")


def test_a_report_is_amended_once_under_a_new_number(opened, reported, command, tmp_path):
    result, report = reported
    words = ["amend-report", report.number, "--changes", "address corrected", "--told", "somebody"]
    status, out, _ = command(*words, "--folder", str(tmp_path), "--json")
    amended = json.loads(out)
    assert (status, amended["replaces"], amended["result"]) == (0, report.number, result.id)
    status, out, _ = command(*words, "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "already-replaced")
    listed = {row["number"]: row["replaced_by"] for row in amending.reports(opened)}
    assert listed == {report.number: amended["number"], amended["number"]: None}
    status, out, _ = command("report", report.number, "--folder", str(tmp_path), "--json")
    assert (status, json.loads(out)["replaced_by"]) == (0, amended["number"])


def steps(answer):
    return {step["step"]: step["state"] for step in answer["steps"]}


def test_a_dispute_asks_for_repeats_until_they_agree(opened, request_test, test_again):
    result = test_again(request_test(), 40.0)
    answer = disputes.raise_dispute(
        opened, result.id, "ours is higher", "somebody", parse_temperature("42 degC")
    )
    assert steps(answer) == {"claimed value": "done", "repeat": "due", "referee": "not needed"}
    with pytest.raises(Refused, match=r"mL of S-1 is left"):
        disputes.settle_dispute(opened, answer["id"], "ours stands")
    test_again(request_test(), 40.0)
    assert steps(disputes.dispute_overview(opened, answer["id"]))["repeat"] == "done"
    assert disputes.settle_dispute(opened, answer["id"], "repeat agrees")["settled"]


def test_repeats_that_disagree_ask_for_a_third_and_then_for_a_referee(
    opened, request_test, test_again
):
    result = test_again(request_test(), 40.0)
    answer = disputes.raise_dispute(opened, result.id, "doubted", "somebody")
    for true_c, then in zip((46.0, 52.0), ("due", "done"), strict=True):
        test_again(request_test(), true_c)
        answer = disputes.dispute_overview(opened, answer["id"])
        assert steps(answer)["repeat"] == then
    # the method is an equilibrium method itself: nobody here can be its referee
    assert steps(answer)["referee"] == "not possible here"


def test_a_disputed_result_is_not_released(opened, request_test, test_again):
    result = test_again(request_test(), 10.0)
    disputes.raise_dispute(opened, result.id, "doubted", "somebody")
    with pytest.raises(Refused, match="disputed"):
        results.release_result(opened, result.id)


def test_the_register_of_failures_keeps_what_was_done(command, opened):
    words = ["--what", "backup disk full", "--immediate", "second disk"]
    status, out, _ = command("failure", *words, "--json")
    assert (status, json.loads(out)["open"]) == (0, True)
    command("corrective", "F-0001", "--action", "watch the free space", "--json")
    _, out, _ = command("failures", "--json")
    [row] = json.loads(out)
    assert (row["corrective"], row["open"]) == (["watch the free space"], False)
    assert command("failure", "--what", " ", "--immediate", "x", "--json")[0] == 2
