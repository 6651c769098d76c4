"""The command that reads traces: units and marks, what is remembered and kept, bad files."""

import json
from datetime import datetime, timedelta

import numpy as np
import pytest

from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import results
from closedcup.quantities import parse_pressure, parse_temperature

RATE, FLASH_S = 2.0, 700.5
NAMED = ["--time", "Zeit [s]", "--temperature", "T cup [°C]", "--detector", "Signal"]


def readings():
    """Return a ramp from 45 °C at 2 °C/min with a detector that steps at 700.5 s."""
    random = np.random.default_rng(7)
    time_s = np.arange(0, 760, 2.0)
    cup_c = 45 + RATE / 60 * time_s + 0.02 * random.standard_normal(time_s.size)
    signal = 1 + 0.01 * random.standard_normal(time_s.size) + 0.5 * (time_s >= FLASH_S)
    return time_s, cup_c, signal


def written(heading=("Zeit [s]", "T cup [°C]", "Signal"), *, comma=True, time=None, cup=None):
    time_s, cup_c, signal = readings()
    times = [f"{value:.1f}" for value in time_s] if time is None else [time(v) for v in time_s]
    cells = [f"{value:.5f}" for value in (cup_c if cup is None else cup(cup_c))]
    mark = ";" if comma else ","
    rows = [mark.join(heading)]
    rows += [
        mark.join(cell.replace(".", ",") if comma else cell for cell in row)
        for row in zip(times, cells, (f"{value:.5f}" for value in signal), strict=True)
    ]
    return "\r\n".join(rows) + "\r\n"


@pytest.fixture
def run(opened, command, tmp_path):
    def execute(content, *words):
        file = tmp_path / "run.csv"
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        status, out, err = command("trace", str(file), "--apparatus", "SC-1", *words, "--json")
        return status, json.loads(out), err

    return execute


def clock(value):
    return str(timedelta(seconds=23 * 3600 + 55 * 60 + value)).split(", ")[-1].rjust(8, "0")


def iso(value):
    return (datetime.fromisoformat("2026-03-02T07:00:00") + timedelta(seconds=value)).isoformat()


@pytest.mark.parametrize(
    "content",
    [
        written(),
        written().encode("cp1252"),
        written().encode("utf-16"),
        written(("time [min]", "cup (degF)", "detector"), comma=False,
                time=lambda s: f"{s / 60:.9f}", cup=lambda c: c * 1.8 + 32),
        written(("time", "probe K", "signal"), time=clock, cup=lambda c: c + 273.15),
        written(("time", "temp_C", "signal"), comma=False, time=iso),
    ],
    ids=["utf-8", "cp1252", "utf-16", "min, °F, point", "clock past midnight, K", "ISO"],
)  # fmt: skip
def test_the_answer_does_not_depend_on_how_the_file_is_written(run, content):
    status, answer, _ = run(content, "--method", "d7236")
    assert status == 0, answer
    assert answer["rate"]["rate_c_per_min"] == pytest.approx(RATE, abs=0.01)
    assert answer["rate_within"] is True
    assert answer["flash"]["cup_c"] == pytest.approx(45 + RATE / 60 * FLASH_S, abs=0.05)
    assert answer["flash"]["low_cup_c"] < 45 + RATE / 60 * FLASH_S < answer["flash"]["high_cup_c"]


def test_a_named_mapping_is_remembered_for_the_apparatus(run, opened):
    heading = ("A", "B", "C")
    assert run(written(heading))[1]["error"]["kind"] == "column-missing"
    words = ["--time", "A", "--temperature", "B", "--detector", "C"]
    words += ["--time-unit", "s", "--temperature-unit", "degC"]
    assert run(written(heading), *words, "--preview")[1]["mapping_origin"] == "named"
    assert opened.state.trace_mappings == {}
    assert run(written(heading), *words)[0] == 0
    assert opened.state.trace_mappings["SC-1"].temperature == "B"
    seq = opened.state.seq
    assert run(written(heading))[1]["mapping_origin"] == "remembered"
    run(written(heading), *words)
    assert opened.state.seq == seq  # the same again is no new entry


def test_a_preview_shows_the_rows_even_where_a_column_is_not_clear(run):
    status, shown, _ = run(written(("A", "B", "C")), "--preview")
    assert (status, shown["mapping"], len(shown["rows"])) == (0, None, 5)
    assert "--time" in shown["problem"]
    status, shown, _ = run(written(("t [s]", "T [°C]", "Signal")), "--preview")
    assert (shown["mapping"]["temperature"], shown["mapping_origin"]) == (
        "T [°C]",
        "guessed from the headings",
    )


def test_a_corrected_trace_is_asked_about_and_not_corrected_twice(run, opened):
    heading = ("Zeit [s]", "T korr. [°C]", "Signal")
    words = ["--time", heading[0], "--temperature", heading[1], "--detector", "Signal"]
    seq = opened.state.seq
    status, answer, _ = run(written(heading), *words)
    assert (status, answer["error"]["kind"]) == (2, "correction-unstated")
    assert opened.state.seq == seq
    status, plain, _ = run(written(heading), *words, "--as-shown")
    assert status == 0
    status, answer, _ = run(written(heading), *words, "--corrected-for", "84.1 kPa")
    assert answer["flash"]["cup_c"] == pytest.approx(plain["flash"]["cup_c"] - 4.3, abs=0.01)
    assert answer["corrected_for_kpa"] == 84.1
    assert "nothing is corrected twice" in " ".join(answer["warnings"])
    both = [*words, "--as-shown", "--corrected-for", "84.1 kPa"]
    assert run(written(heading), *both)[1]["error"]["kind"] == "scale-contradictory"


def test_a_delay_is_remembered_of_the_apparatus(run, opened):
    at_once = run(written(), *NAMED)[1]["flash"]["cup_c"]
    answer = run(written(), "--lag", "6 s", "--lag-half-width", "1.5 s")[1]
    assert answer["flash"]["cup_c"] == pytest.approx(at_once - 6 / 60 * RATE, abs=0.02)
    assert opened.state.trace_mappings["SC-1"].lag_s == 6
    assert run(written())[1]["flash"]["cup_c"] == answer["flash"]["cup_c"]
    assert run(written(), *NAMED)[1]["mapping"]["lag_half_width_s"] == 1.5
    assert run(written(), "--lag", "0 s")[1]["flash"]["cup_c"] == at_once
    assert run(written(), "--lag", "500 s")[1]["error"]["kind"] == "lag-impossible"
    assert run(written(), "--lag-half-width", "1 s")[1]["error"]["kind"] == "lag-missing"


def changed(row, cells):
    lines = written().splitlines()
    lines[row - 1] = cells
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("content", "words", "kind", "says"),
    [
        (changed(50, "3,0;46,6;1,0"), NAMED, "clock-back", "row 50"),
        (changed(50, "96,0;118,7;1,0"), NAMED, "temperature-jump", "°C to °F"),
        (written(time=lambda v: f"{v + 3600 * (v > 400):.1f}"), NAMED, "clock-jump", "3602 s"),
        (changed(50, "96,0;ERR;1,0"), NAMED, "not-a-number", "row 50, column T cup"),
        (changed(50, "96.0;46,6;1,0"), NAMED, "decimal-ambiguous", "--decimal"),
        (written(), [*NAMED[:4], "--detector", "X"], "column-missing", "Zeit [s], T cup"),
        (written(("Zeit", "T cup [°C]", "Signal")), [], "unit-missing", "--time-unit"),
        (written().splitlines()[0] + "\n", NAMED, "no-table", "CSV"),
        ("\n".join(written().splitlines()[:10]), NAMED, "trace-too-short", "20"),
        (b"\x00\x01\x02\xff" * 50, NAMED, "not-text", "CSV"),
        (b"", NAMED, "file-empty", ""),
        (
            written().replace(";1,0", ";nan ;").replace(";0,9", "; ;"),
            NAMED,
            "readings-missing",
            "row",
        ),
    ],
)
def test_a_bad_file_is_refused_in_words_and_nothing_is_recorded(
    run, opened, content, words, kind, says
):
    seq = opened.state.seq
    status, answer, _ = run(content, *words)
    error = answer["error"]
    assert (status, error["kind"]) == (2, kind)
    assert says in " ".join(error.values())
    assert opened.state.seq == seq


def test_duplicated_times_missing_cells_and_gaps_are_said(run):
    lines = written().splitlines()
    lines[50] = lines[50].split(";")[0] + ";;"
    lines[60] = ";".join([lines[59].split(";")[0], *lines[60].split(";")[1:]])
    del lines[100:140]
    status, answer, _ = run("\n".join(lines), *NAMED)
    assert status == 0, answer
    said = " ".join(answer["warnings"])
    for words in ("row 51", "share their time", "One gap"):
        assert words in said
    assert answer["flash"]["cup_c"] == pytest.approx(68.35, abs=0.1)


def test_a_huge_file_is_refused_by_its_size(command, opened, tmp_path):
    file = tmp_path / "huge.csv"
    with file.open("wb") as huge:
        huge.truncate(5_000_000_000)
    status, out, _ = command("trace", str(file), "--apparatus", "SC-1", "--json")
    error = json.loads(out)["error"]
    assert (status, error["kind"]) == (2, "file-too-large")
    assert "5,000 MB" in error["what"]


def test_a_wrong_rate_exits_with_4_and_the_unit_is_doubted(run):
    content = written(cup=lambda c: c * 1.8 + 32)
    status, answer, _ = run(content, "--method", "d7236")
    assert (status, answer["rate_within"]) == (4, False)
    assert any("is the unit °F?" in warning for warning in answer["warnings"])


def test_a_trace_without_a_flash_is_not_called_not_flammable(run):
    content = "\n".join(written().splitlines()[:340])
    status, answer, _ = run(content, "--method", "d7236")
    assert (status, answer["flash"]) == (0, None)
    assert "not “not flammable”" in " ".join(answer["warnings"]).replace("That is ", "")


def test_the_analysts_value_is_compared_and_the_file_kept(
    run, opened, request_test, follow, tmp_path
):
    test = request_test("d7236")
    planning.make_plan(
        opened, test.id, "SC-1", parse_pressure("84.4 kPa"), expected=parse_temperature("72 degC")
    )
    series = beginning.begin_series(
        opened, test.id, "SC-1", pressure=parse_pressure("84.4 kPa"), pressure_kind="station"
    )
    follow(series.id, 72.0)
    result = results.issue_result(opened, test.id)
    picture = tmp_path / "trace.svg"
    words = ["--result", result.id, "--picture", str(picture)]
    status, answer, _ = run(written(), *NAMED, *words)
    called = answer["called"]
    assert called["cup_c"] == float(result.observed_cup_c)
    assert called["allowed_c"] == 1.0
    assert called["agree"] is (abs(called["difference_c"]) <= 1.0)
    assert status == (0 if called["agree"] else 4)
    assert [kept.name for kept in opened.state.files[result.id]] == ["run.csv"]
    assert "called by the analyst" in picture.read_text(encoding="utf-8")
    corrected_c = answer["flash"]["corrected_c"] - answer["flash"]["cup_c"]
    assert corrected_c == pytest.approx((101.3 - 84.4) * 0.25, abs=0.01)
    run(written(), *words)  # the same file is kept once
    assert len(opened.state.files[result.id]) == 1
    beside = run(written(), "--series", series.id)[1]
    assert (beside["called"]["cup_c"], beside["kept"]) == (called["cup_c"], None)
    assert run(written(), *words, "--method", "d93-a")[1]["error"]["kind"] == "method-differs"
