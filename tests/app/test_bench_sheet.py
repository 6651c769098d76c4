"""The bench sheet: one page, blank or filled in, the same bytes each time."""

import io

import pikepdf
import pytest

from closedcup.app.usecases import bench_sheets, planning
from closedcup.methods import PROCEDURES
from closedcup.quantities import parse_pressure


@pytest.mark.parametrize("planned", [False, True])
def test_a_sheet_fits_one_page_and_is_the_same_again(opened, request_test, planned):
    test = request_test()
    if planned:
        planning.make_plan(opened, test.id, "SC-1", parse_pressure("84.1 kPa"))
    document = bench_sheets.sheet_for(opened, test.id)
    assert document == bench_sheets.sheet_for(opened, test.id)
    with pikepdf.open(io.BytesIO(document)) as pdf:
        assert len(pdf.pages) == 1


def test_a_blank_sheet_needs_no_test(opened):
    assert bench_sheets.sheet_for(opened, None).startswith(b"%PDF")


def test_every_procedure_has_its_rule_on_the_sheet():
    assert set(bench_sheets._RULES) == set(PROCEDURES)
