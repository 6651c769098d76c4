"""A hold flags the results back to the last good check, and nothing else."""

from datetime import datetime

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.nonconforming import holding
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.records.history import history_of
from closedcup.app.usecases.results import reporting, results
from closedcup.errors import InputError, Refused
from closedcup.quantities import parse_pressure, parse_temperature

PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture
def verify(opened, clock):
    def run(*results_c):
        clock.forward(minutes=5)
        values = tuple(parse_temperature(f"{value} degC") for value in results_c)
        return verifying.verify_apparatus(opened, "SC-1", "RM-1", values)["in_control"]

    return run


@pytest.fixture
def begin(opened, request_test, clock):
    def run():
        test = request_test()
        clock.forward(minutes=5)
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        return beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")

    return run


@pytest.fixture
def make_result(opened, begin, follow):
    def run():
        series = begin()
        follow(series.id, 10.0)
        result = results.issue_result(opened, series.test)
        results.release_result(opened, result.id)
        return result.id

    return run


def flagged(answer):
    return [row["id"] for row in answer["results"]]


def state(opened, result):
    return overview.result_overview(opened, result)["state"]


def test_a_hold_on_an_apparatus_reaches_back_to_its_last_good_check(
    opened, verify, make_result, begin
):
    verify(49.5, 50.0)
    before = make_result()
    verify(49.6, 49.9)
    after = make_result()
    answer = holding.place_hold(opened, "apparatus", "SC-1", "shutter sticks")
    assert flagged(answer) == [after]
    assert (state(opened, before), state(opened, after)) == ("released", "to be reviewed")
    test = overview.test_overview(opened, opened.state.results[after].test)
    assert (test["state"], test["next"]) == ("to be reviewed", f"let-stand {after}")
    with pytest.raises(Refused, match="shutter sticks"):
        begin()
    with pytest.raises(Refused, match="shutter sticks"):
        reporting.issue_report(opened, after)
    with pytest.raises(Refused, match="is held"):
        holding.let_stand(opened, after, "looks good")

    holding.lift_hold(opened, answer["id"], "shutter freed")
    assert state(opened, after) == "to be reviewed"
    holding.let_stand(opened, after, "the shutter moved freely in its log")
    assert state(opened, after) == "released"
    assert holding.holds(opened)[0]["results"] == []
    said = [entry["what"] for entry in history_of(opened, "SC-1")]
    assert any("shutter sticks" in words for words in said)
    assert any("shutter freed" in words for words in said)
    begin()


def test_a_verification_out_of_control_holds_by_itself(opened, verify, make_result, begin):
    verify(49.5, 50.0)
    suspect = make_result()
    events = opened.store.head().seq
    assert verify(53.0, 53.5) is False
    assert opened.store.head().seq == events + 1  # the verification; the hold is computed
    [row] = holding.holds(opened)
    assert (row["id"], row["lasts"], flagged(row)) == ("SC-1-V2", True, [suspect])
    with pytest.raises(Refused, match="out of control"):
        begin()
    verify(49.5, 50.0)
    clear = make_result()
    [row] = holding.holds(opened)
    assert (row["lasts"], flagged(row)) == (False, [suspect])
    assert state(opened, clear) == "released"
    holding.let_stand(opened, suspect, "repeat on the retained sample agrees")
    assert holding.holds(opened) == []


def test_a_hold_on_a_lot_flags_what_rests_on_it(opened, verify, make_result):
    verify(49.5, 50.0)
    result = make_result()
    answer = holding.place_hold(opened, "material", "RM-1", "the bottle stood open")
    assert flagged(answer) == [result]
    with pytest.raises(Refused, match="stood open"):
        verify(49.5, 50.0)
    holding.lift_hold(opened, answer["id"], "tested anew by its maker", results_stand=True)
    assert state(opened, result) == "released"


def test_a_hold_on_a_person_goes_back_to_their_last_verification_in_control(
    opened, verify, make_result
):
    verify(49.5, 50.0)
    before = make_result()
    verify(49.5, 50.0)
    after = make_result()
    answer = holding.place_hold(opened, "person", "at", "reads the scale wrong")
    assert (flagged(answer), state(opened, before)) == ([after], "released")
    assert datetime.fromisoformat(answer["since"]) > datetime.fromisoformat(
        opened.state.issued_at[before][0]
    )


def test_a_hold_on_a_person_flags_their_work_since_a_date(opened, verify, make_result, begin):
    verify(49.5, 50.0)
    result = make_result()
    with pytest.raises(InputError, match="made no verification in control"):
        holding.place_hold(opened, "person", "bw", "training lapsed")
    holding.place_hold(opened, "person", "bw", "training lapsed", since="2026-01-01")
    assert state(opened, result) == "released"
    answer = holding.place_hold(opened, "person", "at", "reads the scale wrong", since="2026-03-01")
    assert flagged(answer) == [result]
    with pytest.raises(Refused, match="reads the scale wrong"):
        begin()
    with pytest.raises(InputError, match="held already"):
        holding.place_hold(opened, "person", "at", "again", since="2026-03-01")
