"""The control chart of an apparatus on a page of its own, with its options and decisions."""

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.quantities import parse_temperature

RESULTS = [49.7, 49.3, 50.1, 49.5, 50.4, 49.2, 49.9, 49.6, 50.2, 49.4, 49.8, 50.0]


@pytest.fixture
def charted(opened, clock):
    material = next(iter(opened.state.materials))
    before = len(opened.state.verifications.get("SC-1", ()))
    for value in [*RESULTS, 58.0]:
        clock.forward(86400)
        typed = (parse_temperature(f"{value} degC"),)
        verifying.verify_apparatus(opened, "SC-1", material, typed)
    return f"SC-1-V{before + len(RESULTS) + 1}"


def test_signals_and_options_are_shown(pages, charted) -> None:
    shown = pages.get("/apparatus/SC-1/chart").text
    assert shown.count("<svg") >= 2
    assert "out of control" in shown
    assert "moving range" in shown.lower()
    switched = pages.get("/apparatus/SC-1/chart?shown=yes&rule=N3").text
    assert "WE1</dt>" not in switched
    for kind in ("ewma", "cusum"):
        assert "<svg" in pages.get(f"/apparatus/SC-1/chart?kind={kind}&weight=0.2").text
    for faulty in ("base=3", "weight=2", "kind=pie"):
        assert "No chart" in pages.get(f"/apparatus/SC-1/chart?{faulty}").text


def test_causes_and_limits_are_decided_with_reasons_only(pages, opened, charted) -> None:
    address = "/apparatus/SC-1/chart"
    assert pages.post(f"{address}/cause", data={"verification": charted}).status_code == 400
    form = {"verification": charted, "cause": "leaking shutter, mended"}
    assert pages.post(f"{address}/cause", data=form).status_code == 303
    assert "leaking shutter" in pages.get(address).text
    assert pages.post(f"{address}/limits", data={"since": ""}).status_code == 400
    decided = {"method": "d3828-b", "since": "", "limits_reason": "first twelve"}
    assert pages.post(f"{address}/limits", data=decided).status_code == 303
    assert "first twelve" in pages.get(address).text
    assert len(opened.state.chart_limits) == 1


def test_an_apparatus_without_verifications_says_why(pages, opened) -> None:
    assert pages.get("/apparatus/SC-9/chart").status_code == 404


def test_the_web_api_gives_what_the_commands_print(pages, charted) -> None:
    answer = pages.get("/api/apparatus/SC-1/chart?rules=WE1&kind=individuals&base=10").json()
    assert {"points", "centre", "lower", "upper", "in_control", "rule_hits"} <= answer.keys()
    assert list(answer["rules"]) == ["WE1"]
    assert pages.get("/api/apparatus/SC-1/chart?base=2").status_code == 400
    assert pages.get("/api/materials").json()[0]["in_date"]
    assert pages.get("/api/proficiency").json()["laboratory"]["count"] == 0
