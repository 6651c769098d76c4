"""The bench page without scripts: one press records once, a refused press keeps what was typed."""

import re
from collections.abc import Callable

from starlette.testclient import TestClient

from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.bench.bench_overview import bench_overview
from closedcup.methods import Observation

SWAP = {"HX-Request": "true"}


def cup_of(pages: TestClient, series: str) -> str:
    html = pages.get(f"/bench/{series}").text
    return re.search(r'id="cup" name="cup" value="([^"]+)"', html)[1]


def load(pages: TestClient, press: Callable, series: str, tag: str = "") -> str:
    """Set the cup and load; return what the cup shows."""
    cup = cup_of(pages, series)
    assert press(series, "cup", f"set{tag}", cup=cup).status_code == 303
    assert press(series, "specimen", f"load{tag}", cup=cup).status_code == 303
    return cup


def test_a_determination_by_plain_forms(pages, press, opened, clock, series) -> None:
    cup = load(pages, press, series)
    html = pages.get(f"/bench/{series}").text
    assert "apply at 07:01:00" in html
    assert 'data-ends-at="2026-03-02T07:01:00+00:00"' in html
    clock.forward(60)
    press(series, "saw:no flash", "seen", cup=cup, detector="no flash")
    last = bench_overview(opened, series)["entries"][-1]
    assert (last["seen"], last["detector"]) == ("no flash", "no flash")
    assert last["what"] == "igniter applied after 60 s"


def test_the_same_press_twice_records_once(pages, press, opened, clock, series) -> None:
    cup = load(pages, press, series)
    clock.forward(60)
    before = opened.store.head().seq
    for seen in ("no flash", "no flash", "flash"):
        press(series, f"saw:{seen}", "one press", cup=cup)
    assert opened.store.head().seq == before + 1
    assert bench_overview(opened, series)["entries"][-1]["seen"] == "no flash"


def test_a_press_is_a_swap_of_the_part(pages, press, series) -> None:
    cup = cup_of(pages, series)
    part = pages.post(
        f"/bench/{series}", data={"press": "cup", "key": "1", "cup": cup}, headers=SWAP
    ).text
    assert "<html" not in part
    assert "Specimen loaded" in part
    assert part.count("<svg role=") + part.count('role="img"') >= 1


def test_a_refused_press_says_why_and_keeps_everything(pages, press, opened, series) -> None:
    cup = cup_of(pages, series)
    press(series, "cup", "1", cup=cup)
    before = opened.store.head()
    hot = str(float(cup.replace("−", "-")) + 3)
    answer = press(series, "specimen", "2", cup=hot, deviation="cup wiped twi")
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert "never above" in answer.text
    assert f'value="{hot}"' in answer.text
    assert 'value="cup wiped twi"' in answer.text
    assert opened.store.head() == before


def test_a_number_that_is_none_is_told_at_its_field(press, series) -> None:
    answer = press(series, "cup", "1", cup="warm")
    assert answer.status_code == 400
    assert 'aria-invalid="true"' in answer.text
    assert 'value="warm"' in answer.text


def test_a_half_written_note_survives_a_press(pages, press, series) -> None:
    cup = cup_of(pages, series)
    answer = press(series, "cup", "1", cup=cup, deviation="the lid was")
    assert answer.status_code == 200
    assert 'value="the lid was"' in answer.text
    assert "Specimen loaded" in answer.text


def test_loading_is_offered_only_when_the_cup_is_set(pages, press, series) -> None:
    assert "Specimen loaded" not in pages.get(f"/bench/{series}").text
    press(series, "cup", "1", cup=cup_of(pages, series))
    assert "Specimen loaded" in pages.get(f"/bench/{series}").text


def test_withdrawing_needs_a_reason_and_stays_visible(pages, press, opened, clock, series) -> None:
    cup = load(pages, press, series)
    clock.forward(60)
    press(series, "saw:flash", "seen", cup=cup)
    number = bench_overview(opened, series)["entries"][-1]["number"]
    assert press(series, f"withdraw:{number}", "w1").status_code == 400
    press(series, f"withdraw:{number}", "w2", **{f"reason-{number}": "wrong button"})
    html = pages.get(f"/bench/{series}").text
    assert "withdrawn: wrong button" in html
    assert 'class="struck"' in html


def test_a_page_overtaken_by_another_records_nothing(pages, press, opened, series) -> None:
    cup = cup_of(pages, series)
    press(series, "cup", "mine", cup=cup, seen="0")
    answer = press(series, "cup", "theirs", cup=cup, seen="0")
    assert answer.status_code == 409
    assert len(bench_overview(opened, series)["entries"]) == 1
    assert press(series, "cup", "mine", cup=cup, seen="0").status_code == 303


def test_a_display_that_was_already_corrected_is_carried_over(pages, press, clock, series) -> None:
    cup = load(pages, press, series)
    clock.forward(60)
    press(
        series,
        "saw:igniter out",
        "seen",
        cup="37.0",
        corrected_for="84.6 kPa",
        corrected_by="firmware",
    )
    load(pages, press, series, "2")
    html = pages.get(f"/bench/{series}").text
    assert 'value="84.6 kPa"' in html
    assert 'value="firmware"' in html
    assert cup


def test_enter_in_a_field_presses_nothing(pages, series) -> None:
    html = pages.get(f"/bench/{series}").text
    form = html[html.index('id="bench-form"') :]
    assert re.search(r"<button[^>]*>", form)[0] == '<button type="submit" disabled hidden>'


def test_every_observation_has_its_button(pages, press, series) -> None:
    load(pages, press, series)
    html = pages.get(f"/bench/{series}").text
    for seen in Observation:
        assert f'value="saw:{seen.value}"' in html


def test_a_finished_test_at_a_limit(pages, press, opened, clock, begun) -> None:
    series = begun(limit="<60 degC")
    cup = load(pages, press, series)
    clock.forward(60)
    press(series, "saw:flash", "seen", cup=cup)
    html = pages.get(f"/bench/{series}").text
    assert benching.bench(opened, series).outcome is not None
    assert "Issue the result" in html
    assert "saw:" not in html


def test_an_unknown_series_and_an_unknown_press(pages, press, series) -> None:
    assert pages.get("/bench/none").status_code == 404
    assert press(series, "explode", "1").status_code == 400


def test_a_ramp_shows_the_next_application(pages, press, opened, begun, clock) -> None:
    series = begun(method="d7236")
    for number, button in enumerate(("cup", "specimen", "ramp")):
        answer = press(series, button, str(number), cup=cup_of(pages, series), automatic="yes")
        assert answer.status_code == 303
    html = pages.get(f"/bench/{series}").text
    assert "Apply the igniter at" in html
    assert "data-ends-at" not in html
    press(series, "saw:no flash", "seen", cup=cup_of(pages, series))
    assert bench_overview(opened, series)["entries"][-1]["seen"] == "no flash"
    assert "igniter applied" in pages.get(f"/bench/{series}").text  # shown already


def test_a_measured_rate_is_noted_once_heating_began(pages, press, opened, begun) -> None:
    series = begun(method="d7236")
    assert "Note the heating rate" not in pages.get(f"/bench/{series}").text
    for number, button in enumerate(("cup", "specimen", "ramp")):
        press(series, button, str(number), cup=cup_of(pages, series), automatic="yes")
    assert "Note the heating rate" in pages.get(f"/bench/{series}").text
    assert press(series, "rate", "empty").status_code == 400
    assert press(series, "rate", "rate", rate="2,1").status_code == 303
    assert "2.1" in bench_overview(opened, series)["entries"][-1]["what"]


def test_a_specimen_lost_before_heating_is_recorded_and_a_fresh_one_follows(
    pages, press, opened, begun
) -> None:
    series = begun(method="d7236")
    load(pages, press, series)
    assert 'value="saw:specimen lost"' in pages.get(f"/bench/{series}").text
    assert press(series, "saw:specimen lost", "lost", cup="40").status_code == 303
    assert benching.bench(opened, series).instruction.specimen == 2


def test_a_series_is_ended_with_a_reason_when_the_sample_is_used_up(
    pages, press, opened, clock, series
) -> None:
    cup = load(pages, press, series)
    assert press(series, "end", "e1", end="sample used up").status_code == 422
    clock.forward(60)
    press(series, "saw:no flash", "seen", cup=cup)
    assert press(series, "end", "e2").status_code == 400
    assert press(series, "end", "e3", end="sample used up").status_code == 303
    html = pages.get(f"/bench/{series}").text
    assert "Issue the result" in html
    assert "ended before the method was carried through: sample used up" in html
    answer = pages.post(f"/tests/{series[:-2]}/result", data={"key": "r"})
    assert answer.status_code == 303
    (result,) = opened.state.results.values()
    assert result.kind == "no flash up to"
    assert result.low_corrected_c is not None


def test_below_the_rooms_temperature_the_dwell_counts_from_the_recovery(
    pages, press, opened, clock, begun
) -> None:
    series = begun(expected="0 degC")
    cup = load(pages, press, series)
    html = pages.get(f"/bench/{series}").text
    assert "Cup has recovered" in html
    assert "data-ends-at" not in html
    clock.forward(40)
    assert press(series, "recovered", "r", cup=cup).status_code == 303
    assert "apply at 07:01:40" in pages.get(f"/bench/{series}").text
    clock.forward(60)
    press(series, "saw:no flash", "seen", cup=cup)
    assert bench_overview(opened, series)["entries"][-1]["what"] == "igniter applied after 60 s"
