"""A failed verification shows on the result it flags; the uncertainty of a result is a page."""

from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.bench.bench_overview import bench_overview
from closedcup.app.usecases.results import results
from closedcup.methods import Observation
from closedcup.quantities import parse_temperature


@pytest.fixture
def result(opened, clock, series):
    for _ in range(60):
        step = bench_overview(opened, series)["instruction"]
        cup = step["cup_c"] and round(step["cup_c"], 1)
        clock.forward(60 if step["dwell_s"] is None else step["dwell_s"])
        match step["action"]:
            case "set cup":
                benching.set_cup(opened, series, _decimal(cup))
            case "load specimen":
                benching.load_specimen(opened, series, _decimal(cup))
            case "wait and apply":
                seen = Observation.FLASH if cup >= 47 else Observation.NO_FLASH
                benching.apply_igniter(opened, series, _decimal(cup), seen)
            case _:
                break
    issued = results.issue_result(opened, opened.state.series[series].test)
    results.release_result(opened, issued.id)
    return issued


def _decimal(value):
    return Decimal(f"{value:.1f}")


def test_a_failed_verification_flags_the_result_on_its_page(pages, opened, clock, result) -> None:
    sample = opened.state.tests[result.test].sample
    assert "reviewed and stands" not in pages.get(f"/samples/{sample}").text
    clock.forward(3600)
    off = (parse_temperature("60 degC"),)
    failed = verifying.verify_apparatus(opened, "SC-1", next(iter(opened.state.materials)), off)
    shown = pages.get(f"/samples/{sample}").text
    assert f"Verification {failed['id']} is out of control" in shown
    address = f"/results/{result.id}/let-stand"
    assert pages.post(address, data={}).status_code == 400
    assert pages.post(address, data={"stands_because": "retained sample agrees"}).status_code == 303
    assert f"Verification {failed['id']}" not in pages.get(f"/samples/{sample}").text
    assert pages.post(address, data={"stands_because": "again"}).status_code == 400


def test_the_budget_of_a_result_is_shown_and_completed_by_a_form(pages, opened, result) -> None:
    address = f"/results/{result.id}/uncertainty"
    shown = pages.get(address).text
    assert "<svg" in shown
    assert "between operators: nothing on record" in shown
    faulty = pages.post(address, data={"source": "operator", "value": "a lot", "basis": "study"})
    assert faulty.status_code == 400
    assert 'value="a lot"' in faulty.text
    form = {"source": "operator", "value": "0.3", "basis": "study of two", "shape": "standard"}
    assert pages.post(address, data=form | {"degrees_of_freedom": "5"}).status_code == 303
    assert "study of two" in pages.get(address).text
    assert "between operators: nothing" not in pages.get(address).text
    assert opened.state.stated_uncertainties["operator", "SC-1"].degrees_of_freedom == 5
    assert pages.get("/results/R-9999/uncertainty").status_code == 404
