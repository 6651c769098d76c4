"""What comes from paper and from beside the apparatus: bench sheets, observers, kept files."""

import pytest

from closedcup.app.usecases.bench import benching, days
from closedcup.app.usecases.results import results
from closedcup.app.web.security import LARGEST_FORM_BYTES, LARGEST_UPLOAD_BYTES
from closedcup.laboratory import ServiceAnswer
from closedcup.laboratory.checklist import start_of_day_checklist
from closedcup.methods import Observation
from closedcup.quantities import parse_pressure

PICTURE = b"\x89PNG\r\n\x1a\n<script>alert(1)</script>"


@pytest.fixture
def issued(opened, clock, begun) -> str:
    """The result of a flash/no-flash test."""
    series = begun(limit="<60 degC")
    cup_c = benching.bench(opened, series).series.start_cup_c
    benching.set_cup(opened, series, cup_c)
    benching.load_specimen(opened, series, cup_c)
    clock.forward(60)
    view = benching.apply_igniter(opened, series, cup_c, Observation.FLASH)
    return results.issue_result(opened, view.test.id).id


def test_entries_bear_their_observer_and_time(pages, press, opened, clock, series) -> None:
    cup = str(benching.bench(opened, series).series.start_cup_c)
    clock.forward(3600)
    lines = (("cup", "7:01"), ("specimen", "07:02:30"), ("saw:no flash", "7:03:30"))
    for number, (button, time) in enumerate(lines):
        shown = press(
            series, button, f"line-{number}", cup=cup, observed_by="re", observed_at=time
        ).text
        assert '<option value="re" selected>' in shown  # the observer stays, the time is used up
        assert f'value="{time}"' not in shown
    assert "observed by Person re, entered by Person an" in pages.get(f"/bench/{series}").text
    recorded = [each for each in opened.store.read() if each.subject == series][-3:]
    assert [each.observed_at[11:19] for each in recorded] == ["07:01:00", "07:02:30", "07:03:30"]
    assert {(each.by, each.body["observed_by"]) for each in recorded} == {("an", "re")}
    assert benching.bench(opened, series).series.moves[-1].move.dwell_s == 60


def test_a_rate_a_withdrawal_and_a_deviation_bear_their_observer_too(
    press, opened, clock, begun
) -> None:
    series = begun(method="d7236")
    cup = str(benching.bench(opened, series).series.start_cup_c)
    clock.forward(3600)
    lines = (
        ("cup", "7:01", {}),
        ("specimen", "7:02", {}),
        ("ramp", "7:03", {"automatic": "yes"}),
        ("rate", "7:06", {"rate": "2.1"}),
        ("deviation", "7:07", {"deviation": "screen down for a moment"}),
        ("withdraw:3", "7:08", {"reason-3": "the other stopwatch"}),
    )
    for number, (button, time, more) in enumerate(lines):
        answer = press(
            series, button, f"l-{number}", cup=cup, observed_by="re", observed_at=time, **more
        )
        assert answer.status_code == 200, button
    moves = benching.bench(opened, series).series.moves
    assert [each.observed_at[11:16] for each in moves] == [f"07:0{m}" for m in (1, 2, 3, 6, 7, 8)]
    assert {each.by for each in moves} == {"re"}


def test_a_series_on_paper_began_when_the_sheet_says(pages, opened, clock, begun) -> None:
    begun()
    clock.forward(3600)
    sent = {"apparatus": "SC-1", "pressure": "84.6 kPa", "pressure_kind": "station", "key": "b"}
    address = "/tests/S-0001-T1/series"
    late = pages.post(address, data=sent | {"observed_at": "9:30"})
    assert late.status_code == 400
    assert "still to come" in late.text
    assert pages.post(address, data=sent | {"observed_at": "7:20"}).status_code == 303
    assert opened.state.series["S-0001-T1-2"].begun_at[11:16] == "07:20"


def test_a_line_out_of_its_order_is_refused_and_kept(press, opened, clock, series) -> None:
    cup = str(benching.bench(opened, series).series.start_cup_c)
    clock.forward(3600)
    press(series, "cup", "l-1", cup=cup, observed_at="7:10")
    answer = press(series, "specimen", "l-2", cup=cup, observed_at="7:05")
    assert answer.status_code == 400
    assert "is before the last entry, which was observed at 2026-03-02 07:10:00" in answer.text
    assert 'value="7:05"' in answer.text
    assert len(benching.bench(opened, series).series.moves) == 1
    assert press(series, "specimen", "l-3", cup=cup, observed_at="7:10").status_code == 303


@pytest.mark.parametrize(
    ("observed_at", "words"),
    [
        ("8:30", "still to come"),
        ("half past seven", "not a moment"),
        ("2026-03-02T06:00", "offset"),
    ],
)
def test_a_meaningless_moment_records_nothing(press, opened, series, observed_at, words) -> None:
    answer = press(series, "cup", "k", cup="40", observed_at=observed_at, observed_by="re")
    assert answer.status_code == 400
    assert words in answer.text
    assert f'value="{observed_at}"' in answer.text
    assert not benching.bench(opened, series).series.moves


def test_an_unknown_observer_records_nothing(press, opened, series) -> None:
    cup = str(benching.bench(opened, series).series.start_cup_c)
    assert press(series, "cup", "k", cup=cup, observed_by="nobody").status_code == 400
    assert not benching.bench(opened, series).series.moves


def test_a_blown_out_flame_says_what_comes_first(press, pages, clock, opened, series) -> None:
    cup = str(benching.bench(opened, series).series.start_cup_c)
    for number, button in enumerate(("cup", "specimen", "saw:igniter out")):
        press(series, button, f"p-{number}", cup=cup)
        clock.forward(60)
    shown = pages.get(f"/bench/{series}").text
    assert shown.index("First, after “igniter out”") < shown.index('name="press"')
    assert Observation.IGNITER_OUT.next_step in shown
    press(series, "specimen", "fresh", cup=cup)
    clock.forward(60)
    press(series, "saw:no flash", "seen", cup=cup)
    assert "First, after" not in pages.get(f"/bench/{series}").text


@pytest.mark.parametrize("address", ["/bench-sheet", "/tests/S-0001-T1/bench-sheet"])
def test_a_bench_sheet_is_sent_as_a_file(pages, series, address) -> None:
    answer = pages.get(address)
    assert answer.content.startswith(b"%PDF")
    assert answer.headers["content-disposition"].startswith('attachment; filename="bench-sheet')


def test_a_bench_sheet_of_no_test(pages) -> None:
    assert pages.get("/tests/none/bench-sheet").status_code == 404


def test_a_series_begins_with_the_pressure_of_the_days_card(pages, opened, begun) -> None:
    begun()
    answers = tuple(
        ServiceAnswer(item.id, done=True, finding="seen") for item in start_of_day_checklist().items
    )
    days.start_day(opened, "SC-1", parse_pressure("84.1 kPa"), answers)
    shown = pages.get("/samples/S-0001").text
    form = shown.partition('action="/tests/S-0001-T1/series"')[2]
    assert 'value="84.1 kPa"' in form
    assert 'value="station" checked' in form


def test_a_file_is_kept_and_sent_as_it_came(pages, opened, issued) -> None:
    address = f"/results/{issued}/files"
    sent = {"file": ("C:\\photos\\..\\cup <1>.PNG", PICTURE, "image/png")}
    for _ in range(2):  # the same press twice
        answer = pages.post(address, data={"what": "the cup", "key": "f"}, files=sent)
        assert answer.status_code == 303
    assert len(opened.state.files[issued]) == 1
    kept = opened.state.files[issued][0]
    assert (kept.name, kept.size) == ("cup <1>.PNG", len(PICTURE))
    assert "cup &lt;1&gt;.PNG" in pages.get("/samples/S-0001").text
    fetched = pages.get(f"{address}/{kept.sha256}")
    assert fetched.content == PICTURE
    assert fetched.headers["content-type"] == "application/octet-stream"
    assert fetched.headers["x-content-type-options"] == "nosniff"
    name = f"{issued}-{kept.sha256[:12]}.png"
    assert fetched.headers["content-disposition"] == f'attachment; filename="{name}"'
    assert pages.get(f"{address}/{'0' * 64}").status_code == 404


@pytest.mark.parametrize(
    ("data", "files", "words"),
    [
        ({"what": ""}, {"file": ("a.png", PICTURE)}, "Say what it shows."),
        ({"what": "the cup"}, None, "No file was chosen."),
        ({"what": "the cup"}, {"file": ("a.png", b"")}, "is empty"),
    ],
)
def test_a_refused_file_keeps_its_words(pages, opened, issued, data, files, words) -> None:
    answer = pages.post(f"/results/{issued}/files", data=data | {"key": "f"}, files=files)
    assert answer.status_code == 400
    assert words in answer.text
    assert f'value="{data["what"]}"' in answer.text
    assert issued not in opened.state.files


def test_only_a_result_takes_a_file_and_only_so_large_a_one(pages, opened, issued) -> None:
    large = {"file": ("a.bin", b"x" * LARGEST_FORM_BYTES)}
    assert pages.post("/samples/new", data={"key": "k"}, files=large).status_code == 413
    small = {"file": ("a.bin", b"x")}
    assert pages.post("/samples/new", data={"key": "k"}, files=small).status_code == 400
    address = f"/results/{issued}/files"
    headers = {"Content-Length": str(LARGEST_UPLOAD_BYTES + 1)}
    assert pages.post(address, content=b"x", headers=headers).status_code == 413
    del pages.headers["Origin"], pages.headers["Sec-Fetch-Site"]
    assert pages.post(address, data={"what": "x"}, files=large).status_code == 403
    assert issued not in opened.state.files
