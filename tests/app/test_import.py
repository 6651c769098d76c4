"""Lists that others wrote: how they are read is seen first, and no row is taken twice."""

import json
import zipfile
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.importing.cells import (
    decimal_mark_of,
    moment_in,
    number_in,
    quantity_in,
)
from closedcup.app.usecases.planning import believing
from closedcup.errors import InputError
from closedcup.records import open_store

SAMPLES = """Lab number;Product;Company;Received on;Volume [mL]
S-71;thinner;Brook;02.03.2026;250
S-72;"=cmd";Brook;01.03.2026;1.000,5
"""


@pytest.fixture
def listed(tmp_path):
    """Return a function that writes a list and returns its path."""

    def write(text: str, name: str = "list.csv", encoding: str = "utf-8") -> str:
        path = tmp_path / name
        path.write_bytes(text.encode(encoding))
        return str(path)

    return write


@pytest.fixture
def take(command, opened):
    """Return a function that runs import and returns its status and answer."""

    def run(kind: str, file: str, *options: str) -> tuple[int, dict]:
        status, out, err = command("import", kind, file, *options, "--json")
        assert out, err
        return status, json.loads(out)

    return run


# a workbook's dates have no offset
MORNING = datetime.fromisoformat("2026-03-01T08:30:00")
EARLY, LATE = (datetime.fromisoformat(f"{year}-01-01") for year in (1990, 2060))
ORDER = ("--dates", "day-month-year")


def test_a_list_is_shown_then_taken_in_and_never_twice(take, listed, opened):
    file = listed(SAMPLES)
    status, seen = take("samples", file, *ORDER)
    assert (status, seen["new"], seen["recorded"]) == (0, 2, 0)
    assert seen["decimal_mark"] == ","
    assert {each["field"]: each["column"] for each in seen["columns"]}["volume"] == "Volume [mL]"
    assert "S-71" not in opened.state.samples
    status, taken = take("samples", file, *ORDER, "--record")
    assert (status, taken["recorded"]) == (0, 2)
    sample = opened.state.samples["S-72"]
    assert (sample.volume_ml, sample.received_at[:10]) == (Decimal("1000.5"), "2026-03-01")
    assert sample.description == "=cmd"
    before = opened.store.head().seq
    status, again = take("samples", file, *ORDER, "--record")
    assert (status, again["known"], again["recorded"]) == (0, 2, 0)
    assert opened.store.head().seq == before
    (kept,) = opened.state.imported.values()
    assert opened.store.attachment(kept.sha256).content == Path(file).read_bytes()


def test_all_or_nothing_unless_the_good_rows_only(take, listed, opened):
    file = listed(SAMPLES + "S-73;paint;Brook;02.03.2026;NaN\nS-71;other;;02.03.2026;5\n")
    status, seen = take("samples", file, *ORDER)
    fates = {each["row"]: each["fate"] for each in seen["fates"]}
    assert fates == {2: "new", 3: "new", 4: "refused", 5: "refused"}
    before = opened.store.head().seq
    status, refused = take("samples", file, *ORDER, "--record")
    assert status == 3
    assert "row 4" in refused["error"]["what"]
    assert opened.store.head().seq == before
    status, taken = take("samples", file, *ORDER, "--record", "--good-rows-only")
    assert (status, taken["recorded"], taken["refused"]) == (0, 2, 2)
    assert "S-73" not in opened.state.samples


def test_the_same_id_with_other_content_stays_as_it_is(take, listed, opened):
    take("samples", listed(SAMPLES), *ORDER, "--record")
    changed = listed(SAMPLES.replace("thinner", "paint"))
    status, answer = take("samples", changed, *ORDER, "--record")
    assert status == 3
    assert "other content" in answer["error"]["what"]
    assert opened.state.samples["S-71"].description == "thinner"


def test_results_verifications_liquids_and_compositions(take, listed, opened, sample):
    results = "sample,method,flash point [°F],date\nS-1,D3828-B,104.5,2025-11-02\n"
    assert take("results", listed(results), "--record")[1]["recorded"] == 1
    (result,) = opened.state.outside_results_of("S-1")
    assert result.corrected_c == Decimal("40.277778")
    assert opened.state.results == {}, "it is nobody's result here"

    past = "apparatus,material,date,result 1,result 2\n"
    past += "SC-1,RM-1,2026-02-01,49.9 degC,49.4 degC\nSC-1,RM-1,2026-01-01,60 degC,60 degC\n"
    assert take("verifications", listed(past), "--record")[1]["recorded"] == 2
    history = opened.state.verifications["SC-1"]
    assert [(each.verified_at[:10], each.in_control) for each in history] == [
        ("2026-01-01", False),
        ("2026-02-01", True),
    ]

    liquids = "name;cas;flash point [°C]\nn-decane;124-18-5;47,5\n"
    assert take("liquids", listed(liquids), "--record")[1]["recorded"] == 1
    assert opened.state.own_liquids["124-18-5"].values["flash_point_c"] == "47.5"

    parts = "sample,component,fraction [%]\nS-1,octane,40\nS-1,ethanol,60\n"
    assert take("compositions", listed(parts), "--record")[1]["recorded"] == 1
    assert opened.state.samples["S-1"].composition.components[1].fraction == Decimal("0.6")
    wrong = parts.replace("60", "70")
    assert take("compositions", listed(wrong), "--record")[0] == 3


def test_a_workbook_with_formulas_and_dates(take, opened, tmp_path):
    book = Workbook()
    sheet = book.active
    sheet.append(["sample", "description", "volume [mL]", "received"])
    sheet.append(["S-81", "thinner", 250, MORNING])
    sheet.append(["S-82", "paint", 125.5, MORNING])
    sheet["E1"] = "note"
    sheet["E2"] = "=1+1"
    path = tmp_path / "list.xlsx"
    book.save(path)
    status, answer = take("samples", str(path), "--record")
    assert (status, answer["recorded"]) == (0, 2)
    assert "formulas" in answer["notices"][0]
    assert opened.state.samples["S-81"].received_at.startswith("2026-03-01T08:30:00")
    sheet.merge_cells("A2:B3")
    book.save(path)
    assert take("samples", str(path))[1]["error"]["kind"] == "cells-merged"


@pytest.mark.parametrize(
    ("text", "options", "kind"),
    [
        ("sample,description,volume\nS-1,x,5\n", (), "unit-missing"),
        ('sample,description,volume [mL]\nS-1,x,"1,234"\n', (), "number-two-ways"),
        ("sample,description,volume [mL],received\nS-1,x,5,03/04/05\n", (), "date-two-ways"),
        ("sample,description,volume [mL],received\nS-1,x,5,2027-01-01\n", (), "moment-ahead"),
    ],
)
def test_what_reads_two_ways_is_refused_row_by_row(take, listed, text, options, kind):
    _, answer = take("samples", listed(text), *options)
    assert answer["refused"] == 1
    assert answer["fates"][0]["fix"]


@pytest.mark.parametrize(
    ("content", "name", "options", "kind"),
    [
        ("sämple,description,volume\n".encode("cp1252"), "a.csv", (), "encoding-unfit"),
        (b"a,b\n", "a.csv", (), "file-empty"),
        (b"sample,sample\n1,2\n", "a.csv", (), "heading-twice"),
        (b"sample,what\n1,2\n", "a.csv", (), "field-unfilled"),
        (b"{]", "a.json", (), "json-unreadable"),
        (b"[1]", "a.json", (), "json-unreadable"),
        (b"PK", "a.xlsx", (), "workbook-unreadable"),
        (b"x", "a.doc", (), "form-unknown"),
        (b"sample,b\n1,2\n", "a.csv", ("--map", "volume=c"), "column-missing"),
        (b"sample,b\n1,2\n", "a.csv", ("--map", "volum=b"), "mapping-unreadable"),
    ],
)
def test_a_file_that_cannot_be_read_is_told(take, tmp_path, content, name, options, kind):
    path = tmp_path / name
    path.write_bytes(content)
    status, answer = take("samples", str(path), *options)
    assert (status, answer["error"]["kind"]) == (2, kind)
    assert answer["error"]["fix"]


def test_a_workbook_that_would_fill_the_memory_is_refused(take, tmp_path):
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * (60 << 20))
    assert take("samples", str(path))[1]["error"]["kind"] == "workbook-too-large"


def test_a_huge_file_is_refused_before_it_is_read(take, tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(5 << 30)  # a file with a hole: it takes no room
    assert take("samples", str(path))[1]["error"]["kind"] == "file-too-large"


def test_a_watched_folder_is_taken_in_once(command, take, listed, opened, clock, tmp_path):
    take("samples", listed(SAMPLES), *ORDER, "--keep-mapping", "desk")
    folder = tmp_path / "left"
    folder.mkdir()
    (folder / "monday.csv").write_text(SAMPLES)
    (folder / "broken.csv").write_text("no table")
    from closedcup.app.usecases.importing.watching import Watch

    watched = Watch(opened, folder, "desk")
    assert list(watched.look()) == [], "it may still be written"
    answers = {Path(each["file"]).name: each for each in watched.look()}
    assert answers["monday.csv"]["recorded"] == 2
    assert answers["broken.csv"]["refused_because"]
    assert list(watched.look()) == []
    assert list(Watch(opened, folder, "desk").look()) == []
    assert {path.name for path in folder.iterdir()} == {"monday.csv", "broken.csv"}


@given(st.decimals(-273, 600, places=2), st.sampled_from([".", ","]))
def test_numbers_come_back_with_either_mark(number, mark):
    text = str(number).replace(".", mark)
    assert decimal_mark_of([text]) == mark
    assert number_in(f"{text} °C", mark) == (number, "°C")
    assert quantity_in(text, "temperature", "°C", mark).c == float(number)


@given(st.datetimes(EARLY, LATE))
def test_dates_come_back_in_every_order(moment):
    zone = timezone(timedelta(hours=1))
    moment = moment.replace(microsecond=0)
    expected = moment.replace(tzinfo=zone).isoformat()
    assert moment_in(moment.isoformat(), "", zone) == expected
    assert moment_in(f"{moment:%d.%m.%Y %H:%M:%S}", "day-month-year", zone) == expected
    assert moment_in(f"{moment:%m/%d/%Y %H:%M:%S}", "month-day-year", zone) == expected
    with pytest.raises(InputError):
        moment_in(f"{moment:%d/%m/%Y}", "", zone)


def test_the_file_is_in_an_archive_of_the_laboratory(take, command, listed, tmp_path, opened):
    take("samples", listed(SAMPLES), *ORDER, "--record")
    assert command("archive", str(tmp_path / "all.zip"), "--json")[0] == 0
    there = f"sqlite:///{(tmp_path / 'there.sqlite').as_posix()}"
    assert command("open-archive", str(tmp_path / "all.zip"), "--to", there, "--json")[0] == 0
    with open_store(there) as store:
        assert store.head() == opened.store.head()


def test_own_liquids_on_record_are_used_and_results_from_outside_are_seen(take, listed, opened):
    liquids = "name,formula,molar_mass_g_mol,flash_point_c [°C],boiling_c [°C]\n"
    liquids += "house thinner,C9H20,128.3,31,150\n"
    assert take("liquids", listed(liquids), "--record")[1]["recorded"] == 1
    sample = "sample,description,volume [mL]\nS-90,house thinner,100\n"
    assert take("samples", listed(sample), "--record")[1]["recorded"] == 1
    parts = "sample,component,fraction\nS-90,house thinner,1\n"
    status, answer = take("compositions", listed(parts), "--record")
    assert status == 0, answer
    results = "sample,method,flash point [°C],date\nS-90,D3828-B,31.5,2025-11-02\n"
    take("results", listed(results), "--record")
    seen = overview.sample_overview(opened, "S-90")
    assert seen["outside_results"][0]["corrected_c"] == 31.5
    earlier = believing.earlier_results(opened, opened.state.samples["S-90"])
    assert [each["corrected_c"] for each in earlier] == [31.5]


def test_a_folder_is_looked_into_once_by_command(command, take, listed, opened, tmp_path):
    take("samples", listed(SAMPLES), *ORDER, "--keep-mapping", "desk")
    folder = tmp_path / "left"
    folder.mkdir()
    (folder / "monday.csv").write_text(SAMPLES)  # written just now
    status, out, _ = command("watch", str(folder), "--mapping", "desk", "--once", "--json")
    (answer,) = json.loads(out)
    assert (status, answer["recorded"]) == (0, 2)
    assert command("watch", str(folder), "--mapping", "desk", "--json")[0] == 2
    assert command("watch", str(tmp_path / "none"), "--mapping", "desk", "--once")[0] == 2
