"""The methods' pages: a list, one explained, and the check against the laboratory's own copy."""

import re

import pytest

from closedcup.app.usecases.methods.confirming import confirmation_state
from closedcup.methods import methods


def asked(html: str) -> str:
    return re.search(r'name="number" value="([^"]+)"', html)[1]


def test_every_method_is_listed_and_explained(pages) -> None:
    html = pages.get("/methods").text
    for each in methods():
        assert f'href="/methods/{each.id}"' in html
        assert pages.get(f"/methods/{each.id}").status_code == 200
    assert "none on file: its text was not seen" in pages.get("/methods/d8174").text
    assert pages.get("/methods/none").status_code == 404


def test_a_method_is_confirmed_number_by_number(pages, opened) -> None:
    address = "/methods/iso-1523/confirm"
    total = len(confirmation_state(opened, "iso-1523")["numbers"])
    for place in range(total):
        html = pages.get(address).text
        assert f"{place} of {total} numbers checked" in html
        value = re.search(r'id="value" name="value" value="([^"]+)"', html)[1]
        changed = asked(html) == "ramp_rate"
        typed = {"number": asked(html), "value": "0.3" if changed else value, "key": f"k-{place}"}
        if place:  # the edition and the clause are offered again
            assert 'value="ISO 1523:2002"' in html
        answer = pages.post(address, data=typed | {"clause": "9", "edition": "ISO 1523:2002"})
        assert answer.status_code == 303
    html = pages.get(address).text
    assert f"parameters confirmed: all {total} numbers are checked" in html
    assert "<strong>user</strong>, on file 0.3333" in html
    assert "Person an" in html
    assert "confirmed against the laboratory" in pages.get("/methods/iso-1523").text
    assert pages.get("/api/methods/iso-1523/confirm").json()["confirmed"]


def test_a_number_can_be_left_for_later_and_checked_again(pages, opened) -> None:
    address = "/methods/d93-a/confirm"
    first = asked(pages.get(address).text)
    later = re.search(
        r'href="(/methods/d93-a/confirm\?number=[^"]+)">Leave', pages.get(address).text
    )
    assert asked(pages.get(later[1]).text) != first
    typed = {"number": "rounding", "clause": "12", "edition": "own"}
    pages.post(address, data=typed | {"value": "1", "key": "k1"})
    assert "Record it again" in pages.get(f"{address}?number=rounding").text
    pages.post(address, data=typed | {"value": "0,5", "key": "k2"})
    (row,) = (
        row for row in confirmation_state(opened, "d93-a")["numbers"] if row["number"] == "rounding"
    )
    assert (row["own_copy"], row["known_in_use"]) == (0.5, "memory")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"value": "", "clause": "1", "edition": "e"}, "Enter what your copy says."),
        ({"value": "warm", "clause": "1", "edition": "e"}, "not a number"),
        ({"value": "5", "clause": "", "edition": "e"}, "not stated"),
        ({"value": "0", "clause": "1", "edition": "e"}, "cannot be used"),
    ],
)
def test_a_refused_number_keeps_what_was_typed(pages, opened, typed, says) -> None:
    sent = typed | {"number": "window_low", "key": "k"}
    answer = pages.post("/methods/d93-a/confirm", data=sent)
    assert answer.status_code == 400
    assert says in answer.text
    assert asked(answer.text) == "window_low"
    for name in ("value", "clause", "edition"):
        assert f'id="{name}" name="{name}" value="{typed[name]}"' in answer.text
    assert not opened.state.confirmations


def test_a_method_without_numbers_has_none_to_check(pages) -> None:
    html = pages.get("/methods/d8174/confirm").text
    assert "its text was not seen" in html
    assert "<progress" not in html


def test_an_unknown_number_is_told(pages) -> None:
    assert pages.get("/methods/d93-a/confirm?number=jam").status_code == 400
