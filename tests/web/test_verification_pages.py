"""Reference materials and verification intervals on the pages."""

from datetime import timedelta
from decimal import Decimal

from closedcup.app.usecases.apparatus import establishing
from closedcup.laboratory import ReferenceMaterial


def test_a_bottle_is_opened_and_an_interval_decided_by_forms(pages, opened, clock) -> None:
    establishing.receive_reference_material(
        opened,
        ReferenceMaterial(
            id="RM-9",
            liquid="n-decane",
            lot="7",
            method="d3828-b",
            value_c=Decimal("49.7"),
            certificate="C-7",
            expires_on="2099-12-31",
            edition="2021",
            use_within_days=30,
        ),
    )
    today = clock().date()
    assert pages.post("/materials/RM-9/opened", data={}).status_code == 303
    assert f"{today + timedelta(days=30)}" in pages.get("/apparatus").text
    pages.post("/materials/RM-9/opened", data={"opened_on": "2020-01-01"})
    assert "not to be used since 2020-01-31" in pages.get("/apparatus").text
    assert pages.post("/materials/RM-9/opened", data={"opened_on": "soon"}).status_code == 400
    address = "/apparatus/SC-1/interval"
    faulty = pages.post(address, data={"days": "30", "interval_of": "every"})
    assert faulty.status_code == 400
    assert 'value="30"' in faulty.text
    decided = {"days": "30", "interval_of": "every", "interval_reason": "monthly"}
    assert pages.post(address, data=decided).status_code == 303
    clock.forward(31 * 86400)
    for address in ("/apparatus/SC-1", "/status"):
        assert "was due on" in pages.get(address).text
    assert "due since" in pages.get("/apparatus").text


def test_a_round_is_recorded_by_a_form_and_shown_over_time(pages) -> None:
    assert "No result of a round" in pages.get("/proficiency").text
    form = {"round": "2026-1", "held_on": "2026-01-15", "method": "d3828-b", "person": "an"}
    faulty = pages.post("/proficiency", data=form | {"result_c": "62.4"})
    assert faulty.status_code == 400
    assert 'value="62.4"' in faulty.text
    numbers = {"result_c": "62.4", "assigned_c": "61.0", "deviation_c": "0.9"}
    assert pages.post("/proficiency", data=form | numbers).status_code == 303
    shown = pages.get("/proficiency?person=an&method=d3828-b").text
    assert "+1.56" in shown
    assert "<svg" in shown
    assert "PT-0001" not in pages.get("/proficiency?person=re").text
