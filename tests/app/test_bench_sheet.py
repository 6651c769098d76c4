"""The bench sheet: one page, blank or filled in, the same bytes each time."""

import io

import pikepdf
import pytest

from closedcup.app.usecases.bench import bench_sheets
from closedcup.app.usecases.planning import planning
from closedcup.methods import PROCEDURES
from closedcup.quantities import parse_pressure
from closedcup.reports.bench_sheet import render_bench_sheet


@pytest.mark.parametrize("planned", [False, True])
def test_a_sheet_fits_one_page_and_is_the_same_again(opened, request_test, planned):
    test = request_test()
    if planned:
        planning.make_plan(opened, test.id, "SC-1", parse_pressure("84.1 kPa"))
    document = bench_sheets.sheet_for(opened, test.id)
    assert document == bench_sheets.sheet_for(opened, test.id)
    with pikepdf.open(io.BytesIO(document)) as pdf:
        assert len(pdf.pages) == 1


@pytest.mark.parametrize("procedure", PROCEDURES)
def test_the_sheet_of_every_procedure_fits_one_page(procedure):
    facts = [(f"Fact {n}", "") for n in range(11)]
    sheet = bench_sheets._sheet("Bench sheet", facts, procedure, 150.0, ("150.0",), False)
    with pikepdf.open(io.BytesIO(render_bench_sheet(sheet))) as pdf:
        assert len(pdf.pages) == 1


def test_a_blank_sheet_needs_no_test(opened):
    assert bench_sheets.sheet_for(opened, None).startswith(b"%PDF")


def test_every_procedure_has_its_rule_on_the_sheet():
    assert set(bench_sheets._RULES) == set(PROCEDURES)
