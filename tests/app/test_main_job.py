"""One sample through the whole path, with the mistakes that happen on the way."""

import json
from decimal import Decimal

import pytest

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.apparatus import verifying
from closedcup.app.usecases.bench import beginning, bench_overview, benching, days
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import keeping_files, reporting, results
from closedcup.errors import InputError, Refused
from closedcup.laboratory import ServiceAnswer
from closedcup.laboratory.checklist import close_down_checklist, start_of_day_checklist
from closedcup.methods import Observation
from closedcup.quantities import parse_pressure, parse_temperature
from closedcup.reports.record import Record
from closedcup.reports.shape import describe

PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture
def begin(opened):
    def begin_series(test):
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        return beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")

    return begin_series


def verify(opened, *results_c):
    temperatures = tuple(parse_temperature(f"{value} degC") for value in results_c)
    return verifying.verify_apparatus(opened, "SC-1", "RM-1", temperatures)


def paths_in(part, at=""):
    """Yield the path of every key, lists without their numbers."""
    for item in part if isinstance(part, list) else [part]:
        for key, value in item.items() if isinstance(item, dict) else ():
            yield f"{at}{key}"
            yield from paths_in(value, f"{at}{key}.")


def test_a_sample_becomes_a_report(opened, request_test, begin, follow, clock):
    test = request_test()
    series = begin(test)
    view = follow(series.id, 4.7)
    assert view.outcome.kind == "flash point"
    result = results.issue_result(opened, test.id)
    assert result.reported_c == pytest.approx(4.7, abs=1.0)
    assert result.pressure_correction_c == pytest.approx(4.3)

    with pytest.raises(Refused, match="not been verified"):
        results.release_result(opened, result.id)
    verify(opened, 49.5, 50.0)
    results.release_result(opened, result.id)
    issued = reporting.issue_report(opened, result.id)
    document = reporting.report_document(opened, issued.number)
    assert document.startswith(b"%PDF")
    assert reporting.made_again(opened, issued.number) == document
    record = json.loads(reporting.report_record(opened, issued.number))
    assert record["report"]["seal_number"] == issued.seal_number
    assert record["result"]["reported_text"] == result.reported_text
    assert overview.sample_list(opened)[0]["state"] == "reported"
    named = {path.replace("[]", "") for path, *_ in describe(Record)}
    free = ("estimate.", "omitted.")  # further keys of an estimate; reasons by item
    assert {path for path in paths_in(record) if not path.startswith(free)} <= named


def test_a_result_on_an_apparatus_out_of_control_is_held(opened, request_test, begin, follow):
    test = request_test()
    follow(begin(test).id, 10.0)
    result = results.issue_result(opened, test.id)
    assert verify(opened, 53.0, 53.5)["in_control"] is False
    with pytest.raises(Refused, match="out of control"):
        results.release_result(opened, result.id)
    with pytest.raises(InputError, match="not been released"):
        reporting.issue_report(opened, result.id)


def test_reading_corrected_by_the_display_is_corrected_once(opened, request_test, begin, clock):
    series = begin(request_test()).id
    view = benching.bench(opened, series)
    benching.set_cup(opened, series, Decimal(str(view.instruction.cup_c)))
    benching.load_specimen(opened, series, Decimal(str(view.instruction.cup_c)))
    clock.forward(seconds=60)
    shown = Decimal(str(view.instruction.cup_c)) + Decimal("4.3")
    view = benching.apply_igniter(
        opened,
        series,
        shown,
        Observation.NO_FLASH,
        already_corrected_for=PRESSURE,
        corrected_by="the display",
    )
    assert view.series.moves[-1].move.cup_c == pytest.approx(float(shown) - 4.3)
    assert view.series.moves[-1].reading.already_corrected_for == PRESSURE


def test_a_series_goes_on_where_it_stood(opened, database, request_test, begin, clock):
    series = begin(request_test()).id
    view = benching.bench(opened, series)
    benching.set_cup(opened, series, Decimal(str(view.instruction.cup_c)))
    before = benching.load_specimen(opened, series, Decimal(str(view.instruction.cup_c)))
    opened.close()
    with open_laboratory(database, by="at", clock=clock) as again:
        after = benching.bench(again, series)
    assert after.instruction == before.instruction
    assert after.dwell_ends_at == before.dwell_ends_at


def test_the_same_press_twice_records_once(opened, request_test, begin):
    series = begin(request_test()).id
    cup_c = Decimal(str(benching.bench(opened, series).instruction.cup_c))
    benching.set_cup(opened, series, cup_c, key="press-1")
    view = benching.set_cup(opened, series, cup_c, key="press-1")
    assert len(view.series.moves) == 1


def test_a_refused_move_records_nothing(opened, request_test, begin):
    series = begin(request_test()).id
    cup_c = Decimal(str(benching.bench(opened, series).instruction.cup_c))
    benching.set_cup(opened, series, cup_c)
    events = opened.store.head().seq
    with pytest.raises(Refused) as refused:
        benching.load_specimen(opened, series, cup_c + 5)
    assert refused.value.kind == "forbidden-move"
    assert opened.store.head().seq == events


def test_digits_as_typed_stay(opened, request_test, begin, clock):
    series = begin(request_test()).id
    cup_c = benching.bench(opened, series).instruction.cup_c
    benching.set_cup(opened, series, Decimal(f"{cup_c:.2f}"))
    benching.load_specimen(opened, series, Decimal(f"{cup_c:.2f}"))
    clock.forward(seconds=60)
    benching.apply_igniter(opened, series, Decimal(f"{cup_c:.2f}"), Observation.NO_FLASH)
    event = list(opened.store.read())[-1]
    assert event.body["reading"]["displayed_c"] == f"{cup_c:.2f}"


def test_pressure_reduced_to_sea_level_is_caught(opened, request_test):
    test = request_test()
    planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    with pytest.raises(InputError, match="sea level"):
        beginning.begin_series(
            opened, test.id, "SC-1", parse_pressure("1013 hPa"), pressure_kind="station"
        )


def test_no_series_before_the_stop_list_was_read(opened, request_test):
    with pytest.raises(Refused, match="no plan"):
        beginning.begin_series(opened, request_test().id, "SC-1", PRESSURE, pressure_kind="station")


def test_a_limit_is_answered_by_two_specimens(opened, request_test, begin, follow):
    test = request_test("d3828-a", ">=23 degC")
    view = follow(begin(test).id, 40.0)
    assert (view.outcome.kind, view.outcome.confirmed) == ("no flash", True)
    assert len(view.outcome.determinations) == 2
    result = results.issue_result(opened, test.id)
    answers = overview.result_overview(opened, result.id)["classifications"]
    assert next(each for each in answers if each["regime"] == "GHS")["classification"]


def test_a_ramp_gives_a_result(opened, request_test, begin, follow):
    test = request_test("d7236")
    view = follow(begin(test).id, 12.0)
    assert view.outcome.kind == "flash point"


def test_masking_gives_no_class(opened, request_test, begin, clock):
    test = request_test()
    series = begin(test).id
    cup_c = Decimal(str(benching.bench(opened, series).instruction.cup_c))
    benching.set_cup(opened, series, cup_c)
    benching.load_specimen(opened, series, cup_c)
    clock.forward(seconds=60)
    view = benching.apply_igniter(opened, series, cup_c, Observation.SWOLLEN_FLAME)
    assert view.instruction.action == "stopped"
    result = results.issue_result(opened, test.id)
    found = overview.result_overview(opened, result.id)
    assert found["classifications"] == []
    assert found["classification_refused"]["kind"] == "no-class"
    verify(opened, 49.5, 50.0)
    with pytest.raises(Refused, match="no flash point"):
        results.release_result(opened, result.id)


def test_an_expected_value_in_the_wrong_unit_is_told(opened, request_test):
    expected = parse_temperature("40 degC")  # the sample is expected near 4 °C, which is 40 °F
    plan = planning.make_plan(opened, request_test().id, "SC-1", PRESSURE, expected=expected)
    assert any("°F" in warning for warning in plan["warnings"])
    assert plan["starting_cup_c"] < 4


def test_the_plan_stands_once_a_series_was_begun(opened, request_test, begin):
    test = request_test()
    begin(test)
    with pytest.raises(Refused, match="plan stands"):
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)


def test_a_checklist_is_answered_in_several_goes(opened):
    from dataclasses import replace

    from closedcup.app.usecases.apparatus import establishing
    from closedcup.laboratory import ApparatusState, ServiceAnswer, service_checklist

    other = replace(opened.state.apparatus["SC-1"], id="SC-9")
    establishing.register_apparatus(opened, other)
    items = [item.id for item in service_checklist().items]
    first, rest = (
        tuple(ServiceAnswer(item, done=True, finding="seen") for item in part)
        for part in (items[:4], items[4:])
    )
    assert [item.id for item in establishing.put_into_service(opened, "SC-9", first)] == items[4:]
    assert opened.state.apparatus_state("SC-9", "d3828-b") is ApparatusState.REGISTERED
    assert establishing.put_into_service(opened, "SC-9", rest) == ()
    assert opened.state.apparatus_state("SC-9", "d3828-b") is ApparatusState.UNVERIFIED
    with pytest.raises(InputError, match="no item"):
        establishing.put_into_service(opened, "SC-9", (ServiceAnswer("nonsense", done=True),))


def test_the_card_of_the_day_gives_the_pressure(opened, request_test, command):
    test = request_test()
    planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    status, out, _ = command("begin", test.id, "--apparatus", "SC-1", "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "pressure-missing")
    items = [item.id for item in start_of_day_checklist().items]
    answers = tuple(ServiceAnswer(item, done=True) for item in items)
    with pytest.raises(InputError, match="items are open"):
        days.start_day(opened, "SC-1", PRESSURE, answers[:-1])
    days.start_day(opened, "SC-1", PRESSURE, answers)
    read, kind = days.pressure_of_day(opened, "SC-1")
    series = beginning.begin_series(opened, test.id, "SC-1", read, pressure_kind=kind)
    assert not any("card" in warning for warning in benching.bench(opened, series.id).warnings)


def test_a_bench_is_closed_down_whole(opened):
    items = [item.id for item in close_down_checklist().items]
    answers = tuple(ServiceAnswer(item, done=True) for item in items)
    with pytest.raises(InputError, match="gas-off"):
        days.close_down(opened, "SC-1", answers[1:])
    assert days.close_down(opened, "SC-1", answers)["closed_down"] is True


def test_a_bench_sheet_is_transcribed_with_both_people_and_both_times(
    opened, request_test, begin, clock
):
    series = begin(request_test()).id
    cup_c = Decimal(str(benching.bench(opened, series).instruction.cup_c))
    seen_at = clock.now
    clock.forward(hours=3)
    opened.by = "bw"
    benching.set_cup(opened, series, cup_c, observed_at=seen_at, observed_by="at")
    entry = bench_overview.bench_overview(opened, series)["entries"][0]
    assert (entry["by"], entry["entered_by"]) == ("A. Tern", "B. Wren")
    assert entry["observed_at"] == seen_at.isoformat()
    assert entry["recorded_at"] == "2026-03-02T09:00:00Z"
    with pytest.raises(InputError, match="no person"):
        benching.set_cup(opened, series, cup_c, observed_by="nobody")


def test_a_keyed_entry_never_takes_an_id_that_is_in_use(opened, sample):
    from dataclasses import replace

    from closedcup.app.usecases.desk import samples

    other = replace(sample, description="something else")
    with pytest.raises(InputError, match="already is a sample"):
        samples.receive_sample(opened, other, key="a-new-key")
    kept = samples.receive_sample(opened, replace(sample, id="S-2"), key="desk-1")
    assert samples.receive_sample(opened, replace(sample, id="S-3"), key="desk-1") == kept


def test_a_file_is_kept_beside_a_result_as_it_came(
    opened, request_test, begin, follow, command, tmp_path
):
    test = request_test()
    follow(begin(test).id, 10.0)
    result = results.issue_result(opened, test.id)
    trace = tmp_path / "trace.csv"
    trace.write_bytes(b"time_s;cup_c\r\n0;4,5\r\n")
    status, out, _ = command("keep-file", result.id, str(trace), "--what", "trace", "--json")
    answer = json.loads(out)
    assert status == 0
    assert keeping_files.kept_content(opened, result.id, answer["sha256"]) == (
        "trace.csv",
        trace.read_bytes(),
    )
    assert command("keep-file", result.id, str(tmp_path / "none"), "--json")[0] == 2
