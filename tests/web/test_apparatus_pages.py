"""From records of no laboratory to an apparatus in control, by forms only."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.usecases.nonconforming import holding
from closedcup.app.web.application import create_app
from closedcup.laboratory import ApparatusState, service_checklist
from closedcup.laboratory.checklist import close_down_checklist, start_of_day_checklist

ADDRESS = "http://127.0.0.1:8460"
ESTABLISHED = {"name": "New laboratory", "address": "2 Bench Row", "altitude_m": "1500"}
APPARATUS = {
    "id": "SC-9",
    "description": "Small-scale closed cup",
    "igniter": "gas",
    "lowest_cup_c": "-20",
    "highest_cup_c": "300",
    "runs-d3828-b": "yes",
}
MATERIAL = {
    "id": "RM-9",
    "liquid": "n-decane",
    "lot": "7",
    "method": "d3828-b",
    "value_c": "49.7",
    "certificate": "C-7",
    "expires_on": "2099-12-31",
}
DAY = {"pressure": "84.6 kPa", "pressure_kind": "station"}


def ticked(items, **besides: str) -> dict[str, str]:
    """Every item done and found."""
    answers = {f"done-{item.id}": "yes" for item in items}
    answers |= {f"finding-{item.id}": "as it should be" for item in items if item.needs_finding}
    return answers | besides


@pytest.fixture
def new(tmp_path: Path) -> Iterator[tuple[TestClient, OpenLaboratory]]:
    url = f"sqlite:///{tmp_path}/new.sqlite"
    client = TestClient(
        create_app(lambda: open_laboratory(url, by="an")),
        base_url=ADDRESS,
        follow_redirects=False,
        headers={"Origin": ADDRESS, "Sec-Fetch-Site": "same-origin"},
    )
    with client, open_laboratory(url, by="an") as opened:
        yield client, opened


def test_a_newcomer_is_led_from_nothing_to_an_apparatus_in_control(new) -> None:
    pages, opened = new
    forms = (
        ("/establish", ESTABLISHED),
        ("/people", {"id": "an", "name": "Person an", "role": "analyst"}),
        ("/apparatus", APPARATUS),
        ("/apparatus/SC-9/service", ticked(service_checklist().items)),
        ("/materials", MATERIAL),
        ("/apparatus/SC-9/verification", {"material": "RM-9", "results": "49.5; 50,0\n49.5"}),
    )
    for number, (address, typed) in enumerate(forms):
        shown = pages.get("/").text
        offered = shown.partition('class="button main-button"')[2].partition('"')[2]
        place = {"/people": "/person", "/materials": "/apparatus#materials"}.get(
            address, address.replace("/SC-9/", "/SC-9#")
        )
        assert offered.startswith(f'{place}"')
        assert pages.post(address, data=typed | {"key": f"step-{number}"}).status_code == 303
    assert opened.state.apparatus_state("SC-9", "d3828-b") == ApparatusState.IN_CONTROL
    assert 'main-button" href="/samples/new"' in pages.get("/").text


def test_a_laboratory_is_established_once(new) -> None:
    pages, opened = new
    faulty = pages.post("/establish", data=ESTABLISHED | {"altitude_m": "high", "key": "k"})
    assert (faulty.status_code, opened.state.site) == (400, None)
    assert 'value="New laboratory"' in faulty.text
    for _ in range(2):  # the same press twice
        assert pages.post("/establish", data=ESTABLISHED | {"key": "k"}).status_code == 303
    other = pages.post("/establish", data=ESTABLISHED | {"name": "Other", "key": "other"})
    assert "already belong to New laboratory" in other.text
    assert opened.state.site.name == "New laboratory"


def test_the_checklist_is_answered_in_several_goes(pages, opened) -> None:
    assert pages.post("/apparatus", data=APPARATUS | {"key": "a"}).status_code == 303
    items = service_checklist().items
    first, rest = items[:3], items[3:]
    nothing = pages.post("/apparatus/SC-9/service", data={"key": "none"})
    assert nothing.status_code == 400
    pages.post("/apparatus/SC-9/service", data=ticked(first, key="first"))
    shown = pages.get("/apparatus/SC-9").text
    assert f"{len(rest)} of {len(items)} items are open" in shown
    assert f'name="done-{first[0].id}"' not in shown
    assert all(item.caution in shown for item in rest if item.caution)
    lacking = next(item for item in rest if item.needs_finding)
    typed = ticked(rest, key="rest") | {f"finding-{lacking.id}": ""}
    refused = pages.post("/apparatus/SC-9/service", data=typed)
    assert (refused.status_code, opened.state.service.get("SC-9")) == (400, None)
    assert "as it should be" in refused.text
    pages.post("/apparatus/SC-9/service", data=ticked(rest, key="rest"))
    assert opened.state.apparatus_state("SC-9", "d3828-b") == ApparatusState.UNVERIFIED


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"igniter": ""}, "Gas or electric?"),
        ({"runs-d3828-b": ""}, "Tick at least one."),
        ({"lowest_cup_c": "400"}, "is no range"),
        ({"id": "../SC"}, "An id has letters"),
        ({"id": "SC-1"}, "SC-1"),
    ],
)
def test_a_faulty_apparatus_is_kept_as_typed(pages, opened, changed, words) -> None:
    answer = pages.post("/apparatus", data=APPARATUS | changed | {"key": "k"})
    assert answer.status_code in {400, 409}
    assert words in answer.text
    assert 'value="Small-scale closed cup"' in answer.text
    assert list(opened.state.apparatus) == ["SC-1"]


def test_a_verification_says_its_outcome_in_words_once(pages, opened) -> None:
    typed = {"material": "RM-1", "results": "60 60.5 60", "key": "v"}
    for _ in range(2):
        assert pages.post("/apparatus/SC-1/verification", data=typed).status_code == 303
    assert len(opened.state.verifications["SC-1"]) == 2
    shown = pages.get("/apparatus/SC-1").text
    assert "+10.47\u00a0°C from the reference value 49.7" in shown
    assert "Release no results" in shown
    faulty = pages.post(
        "/apparatus/SC-1/verification", data={"material": "RM-1", "results": "49.5 warm"}
    )
    assert "“warm” is not a number." in faulty.text
    assert "49.5 warm</textarea>" in faulty.text


def test_verifications_are_charted(pages) -> None:
    for number, result in enumerate(("49.5", "50.0", "50.5", "49.0", "49.5", "50.0", "49.5", "50")):
        typed = {"material": "RM-1", "results": f"{result} 49.5", "key": f"v-{number}"}
        pages.post("/apparatus/SC-1/verification", data=typed)
    assert "<figcaption>Control chart, ASTM D3828</figcaption>" in pages.get("/apparatus/SC-1").text


def test_the_probe_has_its_correction(pages, opened) -> None:
    typed = {"correction_c": "-0,2", "certificate": "T-5", "checked_on": "2026-03-32", "key": "p"}
    assert "is not a date" in pages.post("/apparatus/SC-1/probe", data=typed).text
    pages.post("/apparatus/SC-1/probe", data=typed | {"checked_on": "2026-03-02"})
    assert (
        "Correction −0.20\u00a0°C, T-5, checked on 2026-03-02." in pages.get("/apparatus/SC-1").text
    )


def test_the_card_of_the_day_skips_nothing(pages, opened) -> None:
    items = start_of_day_checklist().items
    some = pages.post("/apparatus/SC-1/day", data=DAY | ticked(items[1:], key="d"))
    assert some.status_code == 400
    assert "none is skipped" in some.text
    assert not opened.state.day_cards
    sea_level = DAY | {"pressure": "101.5 kPa"} | ticked(items, key="d")
    assert pages.post("/apparatus/SC-1/day", data=sea_level).status_code >= 400
    assert pages.post("/apparatus/SC-1/day", data=DAY | ticked(items, key="d")).status_code == 303
    assert "Card of 2026-03-02 is made" in pages.get("/apparatus/SC-1").text
    closing = ticked(close_down_checklist().items, key="c")
    assert pages.post("/apparatus/SC-1/close-down", data=closing).status_code == 303
    assert "Closed down on 2026-03-02" in pages.get("/apparatus/SC-1").text


@pytest.mark.parametrize("form", ["service", "day", "close-down", "probe", "verification"])
def test_an_unknown_apparatus_is_not_there(pages, form) -> None:
    assert pages.post(f"/apparatus/NO-1/{form}", data={"key": "k"}).status_code == 404


def test_a_done_item_is_answered_again_with_a_reason(pages, opened) -> None:
    address = "/apparatus/SC-1/service/barometer"
    refused = pages.post(
        address, data={"again-finding-barometer": "reads 0.9 kPa high", "key": "1"}
    )
    assert refused.status_code == 400
    assert 'value="reads 0.9 kPa high"' in refused.text
    sent = {"again-finding-barometer": "reads 0.9 kPa high", "again-reason-barometer": "compared"}
    assert pages.post(address, data=sent | {"press": "open", "key": "2"}).status_code == 303
    assert opened.state.apparatus_state("SC-1", "d3828-b") is ApparatusState.REGISTERED
    assert "1 of " in pages.get("/apparatus/SC-1").text
    sent = {"again-finding-barometer": "adjusted", "again-reason-barometer": "adjusted, 84.6 kPa"}
    assert pages.post(address, data=sent | {"press": "done", "key": "3"}).status_code == 303
    assert opened.state.apparatus_state("SC-1", "d3828-b") is ApparatusState.IN_CONTROL
    assert pages.post("/apparatus/SC-1/service/none", data=sent | {"key": "5"}).status_code == 400
    reasons = [each.reason for each in opened.store.read() if each.subject == "SC-1"]
    assert "compared" in reasons


def test_a_held_apparatus_is_nowhere_shown_as_merely_in_control(pages, opened) -> None:
    holding.place_hold(opened, "apparatus", "SC-1", "shutter sticks")
    for address in ("/apparatus", "/apparatus/SC-1"):
        shown = pages.get(address).text
        assert "shutter sticks" in shown
        assert "H-0001" in shown


def test_an_expired_material_is_not_offered_for_a_verification(pages, opened) -> None:
    pages.post("/materials", data=MATERIAL | {"id": "RM-OLD", "expires_on": "2020-01-31"})
    assert "RM-OLD" in pages.get("/apparatus").text
    assert "RM-OLD" not in pages.get("/apparatus/SC-1").text
