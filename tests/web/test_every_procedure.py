"""One method of each procedure, worked on the pages alone from the plan to the result."""

import re
from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.desk import samples
from closedcup.app.usecases.planning import planning
from closedcup.laboratory import (
    Apparatus,
    Component,
    Composition,
    RequestedTest,
    Sample,
    ServiceAnswer,
    service_checklist,
)
from closedcup.quantities import parse_limit, parse_pressure

METHODS = ("d3828-b", "d7236", "d93-a", "d56", "iso-1523", "d6450", "iso-1516")
FLASHES_FROM_C = 61.3  # as the cup shows it


@pytest.fixture
def planned(opened):
    """Plan a test by a method on an apparatus that runs them all."""
    establishing.register_apparatus(
        opened,
        Apparatus(
            id="ALL-1",
            description="cups of every kind",
            serial="1",
            location="bench D",
            methods=METHODS,
            lowest_cup_c=Decimal(0),
            highest_cup_c=Decimal(300),
            igniter="gas",
        ),
    )
    answers = tuple(
        ServiceAnswer(item.id, done=True, finding="seen") for item in service_checklist().items
    )
    establishing.put_into_service(opened, "ALL-1", answers)

    def make(method: str) -> str:
        sample = Sample(
            id="S-7",
            description="Undecane",
            customer="A customer",
            customer_contact="",
            received_at=opened.clock().isoformat(),
            condition="",
            container="",
            volume_ml=Decimal(2000),
            composition=Composition("declared", "mass", (Component("n-undecane", Decimal(1)),)),
            kind="solvent",
        )
        samples.receive_sample(opened, sample)
        at_limit = method == "iso-1516"
        test = RequestedTest(
            "S-7-T1",
            "S-7",
            method,
            "limit" if at_limit else "finite",
            limit=parse_limit("<60 degC") if at_limit else None,
            decision_rule="simple" if at_limit else "",
        )
        samples.request_test(opened, test)
        planning.make_plan(opened, test.id, "ALL-1", parse_pressure("84.6 kPa"))
        return test.id

    return make


@pytest.mark.parametrize("method", METHODS)
def test_the_page_leads_to_the_result(pages, press, opened, clock, planned, method) -> None:
    test = planned(method)
    begin = {"apparatus": "ALL-1", "pressure": "84.6 kPa", "pressure_kind": "station", "key": "b"}
    assert pages.post(f"/tests/{test}/series", data=begin).status_code == 303
    series = f"{test}-1"
    for number in range(150):
        html = pages.get(f"/bench/{series}").text
        if "Issue the result" in html:
            break
        cup = re.search(r'id="cup" name="cup" value="([^"]+)"', html)[1]
        seen = "flash" if float(cup.replace("−", "-")) >= FLASHES_FROM_C else "no flash"
        offered = re.findall(r'name="press" value="(cup|specimen|recovered|ramp)"', html)
        button = offered[0] if offered else f"saw:{seen}"
        dwell = re.search(r"dwell, (\d+) s", html)
        clock.forward(30 if dwell is None else int(dwell[1]))
        automatic = {"automatic": "yes"} if method == "d6450" else {}
        assert press(series, button, f"p-{number}", cup=cup, **automatic).status_code == 303
    assert pages.post(f"/tests/{test}/result", data={"key": "r"}).status_code == 303
    (result,) = opened.state.results.values()
    if method == "iso-1516":
        assert result.kind == "no flash"
    else:
        assert result.kind == "flash point"
        assert 0 <= float(result.observed_cup_c) - FLASHES_FROM_C < 1
    assert "parameters unconfirmed" in pages.get("/samples/S-7").text
