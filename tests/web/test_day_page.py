"""The page of the day: the list with its times, what must be cold, and what is left out."""

from dataclasses import replace
from decimal import Decimal

import pytest

from closedcup.app.usecases.desk import samples
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.planning.ordering_day import order_of_the_day
from closedcup.laboratory import Component, Composition, RequestedTest
from closedcup.quantities import parse_pressure


@pytest.fixture
def planned(begun, opened):
    """Leave one series under way and one planned test of a volatile liquid."""
    begun()
    sample = opened.state.tests["S-0001-T1"].sample
    other = opened.state.samples[sample]
    volatile = Composition("declared", "mass", (Component("acetone", Decimal(1)),))
    samples.receive_sample(opened, replace(other, id="S-9", composition=volatile))
    for name in ("S-9", sample):
        test = RequestedTest(samples.next_test_id(opened, name), name, "d3828-b", "finite")
        samples.request_test(opened, test)
    planning.make_plan(opened, "S-9-T1", "SC-1", parse_pressure("84.6 kPa"))
    return "S-9"


def test_the_list_is_that_of_the_command(pages, planned, opened):
    text = pages.get("/day").text
    answer = order_of_the_day(opened)
    for entry in answer["entries"]:
        assert entry["begins"][11:16] in text
    assert "Continue" not in text
    assert "/bench/S-0001-T1-1" in text
    assert "It has no plan." in text
    assert "assumed: no rates of SC-1 are on record" in text
    assert pages.get("/api/day").json()["entries"] == answer["entries"]


def test_only_the_list_is_sent_to_bring_it_up_to_date(pages, planned):
    part = pages.get("/day?room=22", headers={"HX-Request": "true"}).text
    assert "<html" not in part
    assert "As things stand at" in part
    whole = pages.get("/day?analyst=an&room=22").text
    assert 'hx-get="/day?analyst=an&amp;room=22"' in whole
    assert "Room 22.0" in whole


def test_a_sample_is_put_to_chill_and_read(pages, planned, opened, clock):
    assert "Put to chill now" in pages.get("/day").text
    sent = {"key": "k1", "put": "yes"}
    assert pages.post("/samples/S-9/chilling", data=sent).status_code == 303
    assert pages.post("/samples/S-9/chilling", data=sent).status_code == 303  # a double press
    assert len(opened.state.chilling["S-9"]) == 1
    assert "chilling until about 08:00" in pages.get("/day").text
    refused = pages.post("/samples/S-9/chilling", data={"key": "k2", "shows": "cold"})
    assert refused.status_code == 400
    assert "“cold” is not a number" in refused.text
    assert 'value="cold"' in refused.text
    assert pages.post("/samples/S-9/chilling", data={"key": "k3"}).status_code == 400
    pages.post("/samples/S-9/chilling", data={"key": "k4", "shows": "-40"})
    assert "cold enough" in pages.get("/day").text


def test_what_cannot_be_is_told_on_the_page(pages, planned):
    assert "There is no person" in pages.get("/day?analyst=nobody").text
    assert "is not a number" in pages.get("/day?room=warm").text


def test_the_next_temperature_is_in_the_api(pages, series):
    answer = pages.get(f"/api/bench/{series}/next").json()
    assert answer["mode"] == "method"
    assert pages.get(f"/api/bench/{series}/next?screening=yes").json()["mode"] == "screening"
