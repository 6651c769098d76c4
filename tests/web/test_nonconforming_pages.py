"""A result in doubt, holds, failures, amended reports and backups, each on its page."""

from decimal import Decimal

import pytest

from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.bench.bench_overview import bench_overview
from closedcup.app.usecases.nonconforming import failures
from closedcup.app.usecases.results import reporting, results
from closedcup.methods import Observation


@pytest.fixture
def result(opened, clock, series):
    """Issue and release a finite result."""
    for _ in range(60):
        step = bench_overview(opened, series)["instruction"]
        cup = Decimal(f"{step['cup_c'] or 0:.1f}")
        clock.forward(60 if step["dwell_s"] is None else step["dwell_s"])
        match step["action"]:
            case "set cup":
                benching.set_cup(opened, series, cup)
            case "load specimen":
                benching.load_specimen(opened, series, cup)
            case "wait and apply":
                seen = Observation.FLASH if cup >= 47 else Observation.NO_FLASH
                benching.apply_igniter(opened, series, cup, seen)
            case _:
                break
    issued = results.issue_result(opened, opened.state.series[series].test)
    results.release_result(opened, issued.id)
    return issued


def test_a_dispute_shows_its_steps_and_is_not_settled_while_one_is_due(pages, opened, result):
    address = f"/results/{result.id}/nonconforming"
    sample = opened.state.tests[result.test].sample
    assert address in pages.get(f"/samples/{sample}").text
    form = {"raised_by": "the customer", "objection": "ours is lower", "claimed": "41"}
    faulty = pages.post(f"/results/{result.id}/dispute", data=form)
    assert (faulty.status_code, 'value="ours is lower"' in faulty.text) == (400, True)
    form["claimed"] = "41 degC"
    assert pages.post(f"/results/{result.id}/dispute", data=form).status_code == 303
    shown = pages.get(address).text
    assert "more than R apart" in shown
    assert f"closedcup request {sample} --method d3828-b" in shown
    early = pages.post("/disputes/D-0001/settle", data={"ended": "agreed"})
    assert (early.status_code, "cannot be settled yet" in early.text) == (422, True)
    gone = pages.post(f"/results/{result.id}/supersede", data={"reason": "wrong sample"})
    assert (gone.status_code, "who was told" in gone.text) == (400, True)
    told = {"reason": "wrong sample", "told": "the customer, by telephone\nthe head"}
    assert pages.post(f"/results/{result.id}/supersede", data=told).status_code == 303
    assert opened.state.superseded[result.id].told == ("the customer, by telephone", "the head")
    assert pages.post("/disputes/D-0001/settle", data={"ended": "superseded"}).status_code == 303
    assert "Supersede it" not in pages.get(address).text
    assert f"{result.id}</a>, {result.statement}. wrong sample" in pages.get(
        f"/samples/{sample}"
    ).text.replace("\u00a0", " ")
    assert pages.get("/api/disputes/D-0001").json()["settled"] == "superseded"
    assert pages.get("/results/R-9999/nonconforming").status_code == 404


def test_a_hold_lists_what_it_flags_and_is_lifted(pages, opened, result):
    assert "Nothing was held" in pages.get("/holds").text
    faulty = pages.post("/holds", data={"thing": "person re", "reason": "training lapsed"})
    assert (faulty.status_code, "made no verification in control" in faulty.text) == (400, True)
    assert 'value="training lapsed"' in faulty.text
    pages.post("/holds", data={"thing": "apparatus SC-1", "reason": "cup dented"})
    assert f"/results/{result.id}/nonconforming" in pages.get("/holds").text
    assert pages.post("/holds/H-0001/lift", data={"lifted": "new cup"}).status_code == 400
    form = {"lifted": "new cup", "after": "review"}
    assert pages.post("/holds/H-0001/lift", data=form).status_code == 303
    shown = pages.get("/holds").text
    assert "still to be reviewed" in shown
    assert [row["results"][0]["id"] for row in pages.get("/api/holds").json()] == [result.id]
    stands = {"stands_because": "retained sample agrees"}
    assert pages.post(f"/results/{result.id}/let-stand", data=stands).status_code == 303
    assert "It flags no result any more" in pages.get("/holds").text


def test_a_failure_goes_from_open_to_closed(pages, opened):
    assert pages.post("/failures", data={"what": "disk full"}).status_code == 400
    key = {"key": "0f", "what": "disk full", "immediate": "second disk"}
    for _ in range(2):  # a double press
        assert pages.post("/failures", data=key).status_code == 303
    assert pages.post("/failures/F-0001/action", data={"action": "watch it"}).status_code == 303
    assert pages.post("/failures/F-0001/review", data={"seen": "60 days"}).status_code == 400
    form = {"seen": "60 days", "worked": "yes"}
    assert pages.post("/failures/F-0001/review", data=form).status_code == 303
    assert [row["state"] for row in failures.failures(opened)] == ["closed"]
    assert "closed" in pages.get("/failures").text


def test_a_report_is_amended_and_both_numbers_are_shown(pages, opened, result):
    first = reporting.issue_report(opened, result.id).number
    address = f"/reports/{first}/amend"
    faulty = pages.post(address, data={"changes": "address corrected"})
    assert (faulty.status_code, 'value="address corrected"' in faulty.text) == (400, True)
    form = {"changes": "address corrected", "told": "the customer"}
    assert pages.post(address, data=form).status_code == 303
    newest, oldest = pages.get("/api/reports").json()[::-1]
    assert (newest["replaces"], oldest["replaced_by"]) == (first, newest["number"])
    assert f"replaced by {newest['number']}" in pages.get("/reports").text


def test_the_rule_for_backups_is_decided_on_the_page_of_records(pages, opened):
    assert "No backup is on record" in pages.get("/status").text
    form = {"days": "soon", "rehearsal_days": "31", "reason": "each night"}
    faulty = pages.post("/status/backups", data=form)
    assert (faulty.status_code, 'value="soon"' in faulty.text) == (400, True)
    assert pages.post("/status/backups", data=form | {"days": "1"}).status_code == 303
    assert pages.get("/api/backups").json()["rule"] == {"backup_days": 1, "rehearsal_days": 31}
