"""Tables for other programs: what goes out comes back the same, whatever reads it."""

import csv
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.reports.tables import Column, Table, table_names, write_table

COLUMNS = (
    Column("what", "what", "", "text", "any text"),
    Column("flash_c", "flash point", "Cel", "number", "a temperature"),
    Column("correction_k", "correction", "K", "number", "a difference"),
    Column("holds", "holds", "", "yes/no", "a yes or no"),
)
TEXT = st.text(st.characters(exclude_categories=["C"]), max_size=12)
NUMBER = st.none() | st.floats(-300, 600).map(lambda value: round(value, 6))
ROWS = st.lists(
    st.fixed_dictionaries(
        {
            "what": TEXT | st.sampled_from(["=1+1", "-12.5", "@x", "+49", "\t=1"]),
            "flash_c": NUMBER,
            "correction_k": NUMBER,
            "holds": st.none() | st.booleans(),
        }
    ),
    max_size=5,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("tables")


def written(rows: list[dict], folder: Path, form: str) -> Path:
    path = folder / f"table.{form}"
    assert write_table(Table("some", COLUMNS, rows), path, form) == len(rows)
    return path


def expected(rows: list[dict]) -> list[list]:
    return [[None if row[each.key] == "" else row[each.key] for each in COLUMNS] for row in rows]


@given(rows=ROWS)
def test_csv_keeps_numbers_and_disarms_texts(rows, folder):
    path = written(rows, folder, "csv")
    with path.open(encoding="utf-8-sig", newline="") as file:
        headings, *read = csv.reader(file)
    assert headings == ["what", "flash point [Cel]", "correction [K]", "holds"]
    for row, (what, flash, correction, holds) in zip(rows, read, strict=True):
        assert what.removeprefix("'") == row["what"] or what == row["what"]
        assert not what.startswith(("=", "+", "-", "@", "\t"))
        for value, field in ((row["flash_c"], flash), (row["correction_k"], correction)):
            assert (None if field == "" else float(field)) == value
        assert holds == {None: "", True: "yes", False: "no"}[row["holds"]]


@given(rows=ROWS)
def test_json_lines_come_back(rows, folder):
    lines = written(rows, folder, "jsonl").read_text("utf-8").split("\n")[:-1]
    assert [list(json.loads(line).values()) for line in lines] == expected(rows)


def test_a_workbook_comes_back_and_holds_no_formula(folder):
    from openpyxl import load_workbook

    rows = [
        {"what": "=1+1", "flash_c": -12.5, "correction_k": None, "holds": True},
        {"what": "-12.5", "flash_c": 40.0, "correction_k": 0.25, "holds": False},
    ]
    book = load_workbook(written(rows, folder, "xlsx"))
    sheet = book["some"]
    assert [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)] == expected(rows)
    assert {cell.data_type for row in sheet.iter_rows(max_col=1) for cell in row} == {"s"}
    assert [row[1] for row in book["columns"].iter_rows(min_row=3, values_only=True)][:2] == [
        "Cel",
        "K",
    ]


@settings(deadline=None)  # the first use loads the library
@given(rows=ROWS)
def test_parquet_comes_back_with_its_units(rows, folder):
    from pyarrow import parquet

    table = parquet.read_table(written(rows, folder, "parquet"))
    assert [list(row.values()) for row in table.to_pylist()] == expected(rows)
    assert table.schema.field("correction_k").metadata[b"unit"] == b"K"


def test_every_table_of_the_demo_is_written(command, database, tmp_path):
    assert command("demo", "--json")[0] == 0
    for name in table_names():
        path = tmp_path / f"{name}.csv"
        status, out, _ = command("export", name, str(path), "--json")
        assert status == 0, name
        with path.open(encoding="utf-8-sig", newline="") as file:
            _, *rows = csv.reader(file)
        assert len(rows) == json.loads(out)["rows"] > 0, name
        filled = [any(row[index] for row in rows) for index in range(len(rows[0]))]
        assert sum(filled) >= len(filled) - 3, f"{name}: columns that nothing fills"
        assert (tmp_path / f"{name}.columns.csv").exists()


@pytest.mark.parametrize(("table", "file"), [("sampels", "a.csv"), ("samples", "a.doc")])
def test_what_cannot_be_written_is_told(command, database, tmp_path, table, file):
    status, _, err = command("export", table, str(tmp_path / file))
    assert status == 2
    assert ".csv" in err or "samples" in err
    assert not list(tmp_path.glob("*.part"))
