"""A large cup at the bench, and its numbers checked against the laboratory's own copy."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.bench import beginning, bench_overview, benching
from closedcup.app.usecases.desk import overview, samples
from closedcup.app.usecases.methods import confirming
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import report_record, results
from closedcup.errors import InputError, Refused
from closedcup.laboratory import (
    Apparatus,
    Component,
    Composition,
    RequestedTest,
    ServiceAnswer,
    service_checklist,
)
from closedcup.methods import Observation
from closedcup.quantities import parse_pressure

DECANE = Component("decane", Decimal(1))
PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture
def begin(opened, sample):
    """Begin a series with a large cup on a sample of its own, of these parts."""
    establishing.register_apparatus(
        opened,
        Apparatus(
            id="LC-1",
            description="large cup",
            serial="2",
            location="bench B",
            methods=("d93-a", "d56", "iso-1523"),
            lowest_cup_c=Decimal(20),
            highest_cup_c=Decimal(300),
            igniter="gas flame",
        ),
    )
    answers = tuple(
        ServiceAnswer(item.id, done=True, finding="as asked") for item in service_checklist().items
    )
    establishing.put_into_service(opened, "LC-1", answers)

    def begin_series(method, *parts):
        count = len(opened.state.samples) + 1
        own = samples.receive_sample(
            opened,
            replace(
                sample,
                id=f"S-{count}",
                volume_ml=Decimal(1000),
                composition=Composition("declared", "mole", parts),
            ),
        )
        test = samples.request_test(
            opened, RequestedTest(f"{own.id}-1", own.id, method, "finite", decision_rule="")
        )
        planning.make_plan(opened, test.id, "LC-1", PRESSURE)
        return beginning.begin_series(opened, test.id, "LC-1", PRESSURE, pressure_kind="station")

    return begin_series


def test_the_value_of_a_large_cup_is_corrected_and_reported(opened, begin, follow):
    series = begin("d93-a", DECANE)
    view = follow(series.id, 49.3)
    assert view.outcome.kind == "flash point"
    result = results.issue_result(opened, series.test)
    assert result.reported_c == pytest.approx(50, abs=1)
    assert result.repeatability_c == pytest.approx(0.029 * result.corrected_c)
    assert overview.test_overview(opened, series.test)["asked"] == "finite flash point"
    facts = report_record.build_record(
        opened, result, number="1", issued_at="2026-03-02", authorised_by="bw"
    )
    assert facts["test"]["step_c"] == 1.0


def test_with_nothing_known_the_first_value_is_only_a_guess(opened, begin, follow):
    series = begin("d93-a")
    assert series.start_cup_c == 20  # 15 as the method says; this apparatus begins at 20
    view = follow(series.id, 70.0)
    first, second = view.outcome.determinations
    assert (first.status, second.status) == ("approximate", "valid")
    assert "where to start" in first.remarks[0]


def test_the_rate_is_recorded_and_one_outside_is_a_deviation(opened, begin, command, clock):
    series = begin("d93-a", DECANE)
    start = benching.bench(opened, series.id).instruction.cup_c
    with pytest.raises(Refused, match="No ramp"):
        benching.check_rate(opened, series.id, 5.5)
    benching.set_cup(opened, series.id, Decimal(str(start)))
    benching.load_specimen(opened, series.id, Decimal(20))
    benching.start_ramp(opened, series.id, Decimal(20))
    status, out, _ = command("check-rate", series.id, "8.0", "--json")
    assert status == 0
    assert json.loads(out)["entries"][-1]["what"] == "heating rate 8 °C/min"
    view = benching.apply_igniter(opened, series.id, Decimal("45.0"), Observation.FLASH)
    assert any("heated at 8 °C/min" in text for text in view.outcome.deviations)


def test_a_number_checked_against_the_own_copy_is_used_from_then_on(opened, begin, command):
    before = begin("d93-a", DECANE)
    status, out, _ = command(
        "confirm", "d93-a", "--number", "interval-1.interval", "--value", "0.5 degC",
        "--clause", "11.1.5", "--edition", "own edition", "--json",
    )  # fmt: skip
    assert status == 0
    answer = json.loads(out)
    assert not answer["confirmed"]
    after = begin("d93-a", DECANE)
    rules = [benching.bench(opened, one.id).method.intervals[0] for one in (before, after)]
    assert [rule.interval.value for rule in rules] == [1.0, 0.5]
    assert rules[1].interval.known == "user"


def test_a_method_is_confirmed_when_every_number_was_checked_once(opened, begin):
    state = confirming.confirmation_state(opened, "iso-1523")
    assert (state["confirmed"], state["left"]) == (False, len(state["numbers"]))
    for row in state["numbers"]:
        value = f"{row['value']} {row['unit']}"
        confirming.confirm_number(
            opened, "iso-1523", row["number"], value, clause="9", edition="ISO 1523:2002"
        )
    state = confirming.confirmation_state(opened, "iso-1523")
    assert (state["confirmed"], state["left"]) == (True, 0)
    assert state["numbers"][0]["by"] == "A. Tern"
    shown = bench_overview.bench_overview(opened, begin("iso-1523", DECANE).id)
    assert shown["confirmed"]


def test_a_value_outside_the_window_is_called_approximate_when_the_sample_is_used_up(
    opened, begin, command
):
    series = begin("d93-a", Component("n-tetradecane", Decimal(1)))
    start = Decimal(str(benching.bench(opened, series.id).instruction.cup_c))
    benching.set_cup(opened, series.id, start)
    benching.load_specimen(opened, series.id, Decimal(20))
    benching.start_ramp(opened, series.id, Decimal(20))
    view = benching.apply_igniter(opened, series.id, start + 12, Observation.FLASH)
    assert view.outcome is None
    status, out, _ = command(
        "end-series", series.id, "--reason", "no more sample", "--observed-by", "bw", "--json"
    )
    assert status == 0
    answer = json.loads(out)
    assert answer["outcome"]["kind"] == "approximate flash point"
    assert answer["entries"][-1]["what"] == "series ended early: no more sample"
    result = results.issue_result(opened, series.test)
    assert result.reported_c is None
    assert "approximate, no result of the method" in result.statement
    assert any("no more sample" in text for text in result.deviations)
    report_record.build_record(
        opened, result, number="1", issued_at="2026-03-02", authorised_by="bw"
    )


@pytest.mark.parametrize(
    ("number", "value", "clause", "says"),
    [
        ("jam", "1 degC", "1", "no number"),
        ("window_low", "18", "1", "is in degC"),
        ("window_low", "eighteen degC", "1", "not a number"),
        ("window_low", "64.4 degF", "1", "is in degC"),
        ("window_low", "18 degC", "", "clause"),
        ("interval-1.interval", "0 degC", "1", "cannot be used"),
        ("correction_per_kpa", "0.3 degC/kPa", "1", "one number for all"),
    ],
)
def test_a_confirmation_that_cannot_be_right_is_refused(opened, number, value, clause, says):
    with pytest.raises(InputError) as refused:
        confirming.confirm_number(opened, "d93-a", number, value, clause=clause, edition="e")
    assert says in f"{refused.value.what} {refused.value.fix}"
    assert not opened.state.confirmations


def test_what_was_confirmed_is_used_wherever_a_method_is_named(opened, command, tmp_path):
    confirm = ("confirm", "d93-a", "--clause", "14", "--edition", "own", "--number")
    command(*confirm, "precision-1.r.factor", "--value", "0.05 1")
    command(*confirm, "rounding", "--value", "1 degC")
    _, out, _ = command("precision", "--method", "d93-a", "--at", "60 degC", "--json")
    answer = json.loads(out)
    assert answer["repeatability_c"] == pytest.approx(3.0)
    assert "user" in {source["known"] for source in answer["sources"]}
    _, out, _ = command(
        "repeats", "d93-a", "--result", "60 degC", "--result", "62.9 degC", "--json"
    )
    assert json.loads(out)["limit_c"] == pytest.approx(0.05 * 61.45)
    _, out, _ = command(
        "correct",
        "--observed",
        "60.7 degC",
        "--pressure",
        "101.3 kPa",
        "--method",
        "d93-a",
        "--json",
    )
    assert json.loads(out)["reported_c"] == 61
    _, out, _ = command("methods", "d93-a", "--json")
    assert {one["name"]: one["known"] for one in json.loads(out)["numbers"]}["rounding"] == "user"


def test_asking_for_a_method_makes_no_records(command, tmp_path, monkeypatch):
    place = tmp_path / "none" / "records.sqlite"
    monkeypatch.setenv("CLOSEDCUP_DATABASE", f"sqlite:///{place}")
    status, _, _ = command("precision", "--method", "d93-a", "--at", "60 degC")
    assert status == 0
    assert not place.exists()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (
            ("setpoint", "--limit", "<60 degC", "--pressure", "95 kPa", "--method", "d92"),
            "open cup",
        ),
        (("conform", "--limit", ">=60 degC", "--result", "61 degC", "--method", "d92"), "open cup"),
        (("classify", "--flash", "61 degC", "--method", "d92"), "open cup"),
        (("estimate", "-c", "n-decane=1", "--method", "d92"), "open cup"),
        (("estimate", "-c", "n-decane=1", "--method", "d8174"), "text of ASTM D8174 was not seen"),
        (("request", "S-1", "--method", "d8175"), "text of ASTM D8175 was not seen"),
        (("request", "S-1", "--method", "d92"), "open cup"),
    ],
)
def test_an_open_cup_and_a_text_not_seen_are_refused_by_their_reason(sample, command, words, says):
    words = [sample.id if word == "S-1" else word for word in words]
    status, _, err = command(*words)
    assert status == 3
    assert says in " ".join(err.split())
