"""The machine-readable pages: the same objects as the commands, errors with their status."""

import pytest

from closedcup.app.usecases.bench import bench_overview
from closedcup.app.usecases.desk import finding, overview
from closedcup.app.usecases.desk.view import keeping_of
from closedcup.app.usecases.methods import explaining_methods


def test_an_estimate(pages) -> None:
    asked = {"c": ["ethanol=0.5", "water=0.5"], "pressure": "84.6 kPa", "method": "d3828-b"}
    answer = pages.get("/api/estimate", params=asked).json()
    assert answer["low_c"] < answer["flash_point_c"] < answer["high_c"]
    assert answer["cup_flash_point_c"] < answer["flash_point_c"]
    assert answer["sources"]


def test_a_correction(pages) -> None:
    asked = {"observed": "40.5 degC", "pressure": "91.3 kPa", "method": "d3828-b"}
    answer = pages.get("/api/correct", params=asked).json()
    assert answer["corrected_c"] == pytest.approx(43.0)


@pytest.mark.parametrize(
    ("path", "asked", "keys"),
    [
        ("setpoint", {"limit": "<60 degC", "pressure": "95.2 kPa"}, {"cup_set_point_c"}),
        ("precision", {"method": "d3828-b", "at": "61 degC"}, {"repeatability_c"}),
        ("conform", {"limit": ">=60 degC", "result": "61.5 degC"}, {"conforms", "rule"}),
        ("check-records", {}, {"events", "seal", "intact"}),
        ("methods/d3828-b", {}, {"id", "sources"}),
    ],
)
def test_objects_have_their_keys(pages, path, asked, keys) -> None:
    answer = pages.get(f"/api/{path}", params=asked)
    assert answer.status_code == 200
    assert keys <= answer.json().keys()


def test_lists(pages, opened, series) -> None:
    regimes = {row["regime"] for row in pages.get("/api/classify?flash=22.5 degC").json()}
    assert {"GHS", "UN class 3"} <= regimes
    assert pages.get("/api/methods").json() == explaining_methods.all_methods()
    every = finding.listed(opened, finding.sample_query(opened))
    assert pages.get("/api/samples").json() == every
    assert pages.get("/api/samples?q=none of this").json() == []
    assert pages.get("/api/search?q=S-0001").json() == finding.search(opened, "S-0001")
    assert pages.get("/api/samples/S-0001/keeping").json() == keeping_of(opened, "S-0001")
    assert pages.get("/api/disposals").json() == pages.get("/api/filters").json() == []
    assert pages.get("/api/samples/S-0001").json() == overview.sample_overview(opened, "S-0001")
    assert pages.get(f"/api/bench/{series}").json() == bench_overview.bench_overview(opened, series)


@pytest.mark.parametrize(
    ("address", "status", "kind"),
    [
        ("correct?observed=40.5&pressure=91.3 kPa", 400, "unit-missing"),
        ("correct?observed=40.5 degC", 400, "parameter-missing"),
        ("correct?observed=40.5 degC&pressure=91.3 kPa&presure=1 bar", 400, "parameter-unknown"),
        ("estimate?c=ethanol=1&normalise=perhaps", 400, "not-yes-or-no"),
        ("samples/none", 404, "sample-unknown"),
        ("methods/none", 404, "method-unknown"),
        ("nothing", 404, "page-unknown"),
        ("estimate?c=water=1", 422, None),
    ],
)
def test_errors(pages, address, status, kind) -> None:
    answer = pages.get(f"/api/{address}")
    assert answer.status_code == status
    error = answer.json()["error"]
    assert error.keys() == {"kind", "what", "where", "fix"}
    assert kind in (None, error["kind"])


@pytest.mark.parametrize(
    ("asked", "keys"),
    [
        ("line?liquid=octane&liquid=ethanol&points=11", {"points", "minimum", "crossings"}),
        ("map?liquid=ethanol&liquid=toluene&liquid=decane&steps=10", {"contours", "lowest"}),
        ("formulate?c=ethanol%3D1&least=water&limit=%3E%3D23+degC", {"at_limit", "with_margin"}),
        ("evaporate?c=acetone%3D1&at=20+degC", {"points", "at_c"}),
    ],
)
def test_blends_have_their_keys(pages, asked, keys) -> None:
    answer = pages.get(f"/api/{asked}")
    assert answer.status_code == 200
    assert keys <= answer.json().keys()


@pytest.mark.parametrize(
    ("asked", "kind"),
    [
        ("line?liquid=octane", "liquids-miscounted"),
        ("line?liquid=octane&liquid=ethanol&points=many", "not-a-whole-number"),
        ("map?liquid=a&liquid=b&liquid=c&colour=red", "parameter-unknown"),
        ("evaporate?c=acetone%3D1", "parameter-missing"),
    ],
)
def test_blends_that_are_refused(pages, asked, kind) -> None:
    assert pages.get(f"/api/{asked}").json()["error"]["kind"] == kind
