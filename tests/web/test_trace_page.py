"""The page that reads a trace: previewed, mended, compared, kept; a refusal loses nothing."""

import re

import numpy as np
import pytest

from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.results import results
from closedcup.methods import Observation


def ramp(heading="Time [s];Cup [degC];Detector", *, comma=True, from_c=30.0, flash_s=690.5):
    random = np.random.default_rng(3)
    time_s = np.arange(0, 760, 2.0)
    cup_c = from_c + time_s / 30 + 0.02 * random.standard_normal(time_s.size)
    signal = 1 + 0.01 * random.standard_normal(time_s.size) + 0.5 * (time_s >= flash_s)
    lines = [heading]
    lines += [
        f"{at:.1f};{cup:.3f};{seen:.3f}"
        for at, cup, seen in zip(time_s, cup_c, signal, strict=True)
    ]
    text = "\n".join(lines)
    return (text.replace(".", ",") if comma else text).encode()


@pytest.fixture
def heated(begun):
    return begun(method="d7236")


@pytest.fixture
def sent(pages, heated):
    """Send the form; return the answer with the name that the page gave to the held file."""

    def send(content=None, **fields):
        files = {"file": ("run one.csv", content, "text/csv")} if content is not None else None
        if files is None:
            files = {"file": ("", b"", "application/octet-stream")}
        answer = pages.post(f"/bench/{heated}/trace", data={"key": "k", **fields}, files=files)
        held = re.search(r'name="held" value="([^"]+)"', answer.text)
        return answer, "" if held is None else held[1]

    return send


def finish(opened, clock, series):
    """Follow the bench to a flash at 53 °C in the cup and issue the result."""
    view = benching.bench(opened, series)
    from decimal import Decimal

    for _ in range(80):
        step = view.instruction
        cup_c = Decimal(f"{step.cup_c:.1f}")
        clock.forward(60)
        match step.action:
            case "set cup":
                view = benching.set_cup(opened, series, cup_c)
            case "load specimen":
                view = benching.load_specimen(opened, series, cup_c)
            case "start ramp":
                view = benching.start_ramp(opened, series, cup_c, automatic=False)
            case "wait and apply":
                seen = Observation.FLASH if cup_c >= 53 else Observation.NO_FLASH
                view = benching.apply_igniter(opened, series, cup_c, seen)
            case _:
                break
    return results.issue_result(opened, view.test.id)


def test_a_file_is_shown_before_anything_is_kept(sent, opened):
    seq = opened.state.seq
    answer, held = sent(ramp())
    assert answer.status_code == 200
    assert held
    for words in ("How run one.csv is read", "30,0", "380 rows", 'value="comma" checked'):
        assert words in answer.text
    assert 'value="Cup [degC]" selected' in answer.text
    assert opened.state.seq == seq


def test_what_is_unclear_is_mended_on_the_page_and_remembered(sent, opened):
    answer, held = sent(ramp("A;B;C"))
    assert "Which column is the time?" in answer.text
    columns = {"time": "A", "temperature": "B", "detector": "C"}
    units = {"time_unit": "s", "temperature_unit": "degC", "decimal": "comma"}
    answer, held = sent(held=held, press="analyse", scale="as shown", **columns, **units, lag="3")
    assert answer.status_code == 200
    assert "What run one.csv says" in answer.text
    assert "not yet: the series has no result" in answer.text
    remembered = opened.state.trace_mappings["SC-1"]
    assert (remembered.temperature, remembered.lag_s) == ("B", 3.0)
    again, _ = sent(ramp("A;B;C"))
    assert "columns remembered" in again.text


def test_the_scale_is_asked_and_a_correction_taken_off(sent, opened):
    _, held = sent(ramp())
    answer, _ = sent(held=held, press="analyse", lag="2")
    assert answer.status_code == 400
    assert "Say which; the export" in answer.text
    assert 'value="2"' in answer.text
    answer, _ = sent(held=held, press="analyse", scale="corrected")
    assert "With which pressure" in answer.text
    answer, _ = sent(held=held, press="analyse", scale="corrected", corrected_for="84.6 kPa")
    assert "nothing is corrected twice" in answer.text
    answer, _ = sent(held="gone", press="analyse", scale="as shown", time="A")
    assert "not at hand any more" in answer.text


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The file is empty"),
        (b"just words", "no line of column names"),
        (ramp().replace(b"\n100,0;", b"\n20,0;"), "clock goes back"),
        (ramp().replace(b"\n100,0;33", b"\n100,0;133"), "jumps from"),
        (ramp(flash_s=1e9), "No flash stands out"),
    ],
)
def test_a_bad_file_is_told_in_words(sent, opened, content, says):
    seq = opened.state.seq
    answer, held = sent(content)
    if held:
        answer, _ = sent(held=held, press="analyse", scale="as shown")
    assert says in answer.text
    assert opened.state.seq == seq


def test_a_trace_is_compared_with_what_was_called_and_kept(sent, pages, heated, opened, clock):
    result = finish(opened, clock, heated)
    assert f"/bench/{heated}/trace" in pages.get("/samples/S-0001").text
    _, held = sent(ramp())
    fields = {"held": held, "press": "analyse", "scale": "as shown"}
    answer, _ = sent(**fields)
    assert answer.status_code == 303
    kept = opened.state.files[result.id]
    assert [(each.name, each.what) for each in kept] == [
        ("run one.csv", "trace of the ramp, as the cup showed it")
    ]
    seq = opened.state.seq
    shown = pages.get(answer.headers["location"]).text
    for words in ("Called by the analyst", "They agree", "Flash, corrected", "called 53"):
        assert words in shown
    assert f"beside result {result.id}" in shown
    assert opened.state.seq == seq


def test_a_search_by_steps_has_no_trace_to_link(pages, series):
    assert "Trace of the ramp" not in pages.get(f"/bench/{series}").text
