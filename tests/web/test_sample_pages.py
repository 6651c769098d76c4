"""The whole path by forms; what is typed wrongly is told at its field and kept."""

import json
import re

import pytest
from starlette.testclient import TestClient

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.bench.bench_overview import bench_overview
from closedcup.app.usecases.desk.overview import sample_overview
from closedcup.app.web.application import create_app
from closedcup.app.web.serving import listen, serve
from closedcup.errors import ClosedcupError, InputError

GOOD = {
    "description": "Degreaser",
    "customer": "Mill Lane",
    "customer_contact": "quality desk",
    "volume_ml": "100",
    "trust": "declared",
    "basis": "mass",
    "composition": "n-decane = 60 %\nn-nonane = 0.4",
    "kind": "solvent",
}
HOSTILE = '"><script>alert(1)</script>&{{ 7 * 7 }}'


def receive(pages, **changed: str):
    return pages.post("/samples/new", data=GOOD | {"key": "receive"} | changed)


def determine(pages, opened, clock, series: str, *, flash_c: float) -> None:
    """Press what the page asks until the series is done; it flashes from a cup temperature on."""
    for number in range(60):
        step = bench_overview(opened, series)["instruction"]
        button = {"set cup": "cup", "load specimen": "specimen"}.get(step["action"])
        if step["action"] == "done":
            return
        if button is None:
            clock.forward(step["dwell_s"])
            button = "saw:flash" if step["cup_c"] >= flash_c else "saw:no flash"
        typed = {"press": button, "cup": f"{step['cup_c']:.1f}", "key": f"press-{number}"}
        assert pages.post(f"/bench/{series}", data=typed).status_code == 303
    raise AssertionError("the series does not end")


def test_from_the_sample_to_its_report(pages, opened, clock) -> None:
    """A finite flash point of a liquid that flashes from 47 °C on as the cup shows it."""
    assert receive(pages).headers["location"] == "/samples/S-0001"
    typed = {"method": "d3828-b", "step": "1 degC", "limit": ">=45 degC", "decision_rule": "simple"}
    pages.post("/samples/S-0001/tests", data=typed | {"key": "test"})
    at = {"apparatus": "SC-1", "pressure": "84.6 kPa"}
    pages.post("/tests/S-0001-T1/plan", data=at | {"key": "plan"})
    assert "nothing on the stop list" in pages.get("/samples/S-0001").text
    begun = pages.post(
        "/tests/S-0001-T1/series", data=at | {"key": "begin", "pressure_kind": "station"}
    )
    series = begun.headers["location"].removeprefix("/bench/")
    determine(pages, opened, clock, series, flash_c=47)
    pages.post("/tests/S-0001-T1/result", data={"key": "result"})
    html = pages.get("/samples/S-0001").text
    assert "Flash point 51\u00a0°C, corrected to 101.3\u00a0kPa" in html
    assert re.search(r"conforms", html)
    assert "UN class 3" in html
    pages.post("/tests/S-0001-T1/release", data={"key": "release"})
    pages.post("/tests/S-0001-T1/report", data={"key": "report"})
    number = sample_overview(opened, "S-0001")["tests"][0]["report"]
    document = pages.get(f"/reports/{number}/document")
    assert document.content.startswith(b"%PDF")
    assert document.headers["content-disposition"] == f'attachment; filename="{number}.pdf"'
    record = pages.get(f"/reports/{number}/record").json()
    assert record["report"]["number"] == number
    assert "Document (PDF)" in pages.get("/samples/S-0001").text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("volume_ml", "a cupful", "is not a number"),
        ("volume_ml", "", "Enter how much there is"),
        ("volume_ml", "-3", "cannot be tested"),
        ("customer_contact", "", "The report must name"),
        ("composition", "n-decane = 0.5", "0.5"),
        ("composition", "n-decane = 1.2\nn-nonane = -0.2", "negative"),
        ("composition", "n-decain = 1", "Did you mean decane"),
        ("composition", "n-decane 60 %", "NAME=AMOUNT"),
        ("trust", "unknown", "declared or measured"),
        ("history", "61 = last one", "has no unit"),
        ("kind", "soup", "is not a kind of product"),
    ],
)
def test_a_faulty_sample_is_kept_as_typed(pages, opened, field, typed, words) -> None:
    before = opened.store.head()
    answer = receive(pages, **{field: typed})
    assert answer.status_code == 400
    assert words in answer.text
    assert 'role="alert"' in answer.text
    assert 'value="Degreaser"' in answer.text
    if field not in {"kind", "trust"}:
        assert typed in answer.text
    assert opened.store.head() == before


def test_mending_a_faulty_sample_records_it_once(pages, opened) -> None:
    receive(pages, volume_ml="")
    assert receive(pages).status_code == 303
    assert receive(pages).headers["location"] == "/samples/S-0001"
    assert len(opened.state.samples) == 1


def test_hostile_words_are_only_words(pages) -> None:
    receive(pages, description=HOSTILE, customer=HOSTILE, condition=HOSTILE)
    for path in ("/", "/samples/S-0001", f"/?q={HOSTILE}"):
        html = pages.get(path).text
        assert "<script>alert" not in html
        assert "&lt;script&gt;alert(1)&lt;/script&gt;&amp;{{ 7 * 7 }}" in html


def test_the_list_searches_and_puts_the_bench_first(pages, opened, series) -> None:
    receive(pages, description="Degreaser, late")
    html = pages.get("/").text
    assert html.index("Continue at the bench") < html.index("Request a test")
    assert "Solvent" not in pages.get("/?q=late+degreaser").text
    assert "No sample has all of" in pages.get("/?q=nothing+such").text


def test_a_pressure_from_a_weather_report_is_caught(pages, opened) -> None:
    receive(pages)
    pages.post("/samples/S-0001/tests", data={"method": "d3828-b", "key": "test"})
    at = {"apparatus": "SC-1", "pressure": "84.6 kPa", "key": "plan"}
    pages.post("/tests/S-0001-T1/plan", data=at)
    answers = [
        pages.post(
            "/tests/S-0001-T1/series",
            data=at | {"key": key, "pressure": pressure, "pressure_kind": kind},
        )
        for key, pressure, kind in (
            ("1", "101.3 kPa", "station"),
            ("2", "84.6 kPa", "sea level"),
            ("3", "84.6", "station"),
            ("4", "84.6 mmHg", "station"),
            ("5", "84.6 kPa", ""),
        )
    ]
    assert [answer.status_code for answer in answers] == [400] * 5
    assert "reduced to sea level" in answers[0].text
    assert "has no unit" in answers[2].text
    assert 'value="84.6 mmHg"' in answers[3].text
    assert not opened.state.series


def test_nothing_is_begun_without_a_plan(pages, opened) -> None:
    receive(pages)
    pages.post("/samples/S-0001/tests", data={"method": "d3828-b", "key": "test"})
    answer = pages.post(
        "/tests/S-0001-T1/series",
        data={"apparatus": "SC-1", "pressure": "84.6 kPa", "pressure_kind": "station"},
    )
    assert answer.status_code == 422
    assert "has no plan yet" in answer.text


def test_what_the_stop_list_holds_waits_for_its_reviewer(pages, opened) -> None:
    receive(pages, trust="unknown", composition="", is_waste="yes")
    pages.post("/samples/S-0001/tests", data={"method": "d3828-b", "key": "test"})
    at = {"apparatus": "SC-1", "pressure": "84.6 kPa"}
    pages.post("/tests/S-0001-T1/plan", data=at | {"key": "plan"})
    begin = at | {"pressure_kind": "station"}
    assert pages.post("/tests/S-0001-T1/series", data=begin).status_code == 422
    decision = {"reviewer": "re", "decision": "proceed", "conditions": "", "key": "review"}
    assert pages.post("/tests/S-0001-T1/review", data=decision).status_code == 400
    decision["conditions"] = "smallest volume"
    assert pages.post("/tests/S-0001-T1/review", data=decision).status_code == 303
    assert pages.post("/tests/S-0001-T1/series", data=begin).status_code == 303


def test_a_property_is_recorded_with_its_method(pages, opened) -> None:
    receive(pages)
    typed = {"name": "boiling_c", "value": "98", "method": "distillation", "key": "property"}
    assert pages.post("/samples/S-0001/evidence", data=typed).status_code == 400
    typed["determined_on"] = "2026-03-01"
    assert pages.post("/samples/S-0001/evidence", data=typed).status_code == 303
    assert "boiling, °C" in pages.get("/samples/S-0001").text


def test_the_records_page_checks_every_seal(pages, opened) -> None:
    html = pages.get("/status").text
    assert f"all {opened.store.head().seq} events give their seals" in html


def test_the_apparatus_page_tells_the_last_verification(pages) -> None:
    html = pages.get("/apparatus").text
    assert "in control" in html
    assert "2026-03-02" in html


@pytest.mark.parametrize("path", ["/samples/none", "/reports/none/record", "/nowhere"])
def test_what_is_not_there_is_told(pages, path) -> None:
    answer = pages.get(path)
    assert answer.status_code == 404
    assert "This was not done" in answer.text


def test_a_fault_of_the_program_is_told_without_its_inside(pages, monkeypatch, caplog) -> None:
    def breaks(*_: object) -> None:
        raise RuntimeError("the inside")

    monkeypatch.setattr("closedcup.app.usecases.desk.overview.apparatus_states", breaks)
    answer = pages.get("/apparatus")
    assert answer.status_code == 500
    assert "A fault in the program" in answer.text
    assert "the inside" not in answer.text
    assert "the inside" in caplog.text
    assert json.loads(pages.get("/api/apparatus").text)["error"]["kind"] == "program-fault"


def test_a_result_without_stated_precision_is_still_shown(pages, opened, clock) -> None:
    """Its conformity may be refused; the page, the result and its chain stay to be seen."""
    receive(pages, composition="n-heptane = 1")
    typed = {"method": "d3828-b", "limit": ">=45 degC", "decision_rule": "guarded", "key": "test"}
    pages.post("/samples/S-0001/tests", data=typed)
    at = {"apparatus": "SC-1", "pressure": "84.6 kPa", "pressure_kind": "station"}
    pages.post("/tests/S-0001-T1/plan", data=at | {"key": "plan"})
    begun = pages.post("/tests/S-0001-T1/series", data=at | {"key": "begin"})
    determine(pages, opened, clock, begun.headers["location"].removeprefix("/bench/"), flash_c=-9)
    pages.post("/tests/S-0001-T1/result", data={"key": "result"})
    answer = pages.get("/samples/S-0001")
    assert answer.status_code == 200
    assert "Flash point −" in answer.text


def test_records_of_no_laboratory_yet_say_how_to_begin(tmp_path) -> None:
    application = create_app(lambda: open_laboratory(f"sqlite:///{tmp_path}/new.sqlite", by="an"))
    with TestClient(application, base_url="http://127.0.0.1:8460") as client:
        assert 'href="/establish"' in client.get("/").text
        own = {"Origin": "http://127.0.0.1:8460"}
        answer = client.post("/samples/new", data=GOOD, headers=own)
        assert answer.status_code == 400
        assert 'value="Degreaser"' in answer.text


def test_a_foreign_file_is_told_and_not_touched(tmp_path) -> None:
    file = tmp_path / "other.sqlite"
    file.write_bytes(b"not a database" * 10)
    with pytest.raises(ClosedcupError):
        serve(f"sqlite:///{file}", port=0)
    assert file.read_bytes() == b"not a database" * 10


def test_a_taken_port_is_told() -> None:
    with listen(0) as taken:
        taken.listen()
        with pytest.raises(InputError, match="another with --port"):
            listen(taken.getsockname()[1])


def test_entries_bear_the_person_who_is_at_the_pc(pages, opened) -> None:
    receive(pages)
    assert pages.post("/person", data={"person": "re"}).status_code == 303
    assert 'entries by <a href="/person">Person re</a>' in pages.get("/").text
    pages.post("/samples/S-0001/tests", data={"method": "d3828-b", "key": "test"})
    pages.cookies.clear()
    pages.cookies.set("person", "nobody")
    pages.post("/samples/new", data=GOOD | {"key": "another"})
    by = [event.by for event in opened.store.read() if event.type.startswith(("sample", "test"))]
    assert by == ["an", "re", "an"]
    assert pages.post("/person", data={"person": "nobody"}).status_code == 400
