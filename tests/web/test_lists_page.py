"""A list is taken in from the page: seen first, mended, recorded, never twice."""

import re

import pytest

LIST = b"Lab number;Product;Company;Received on;Volume\nS-71;thinner;Brook;02.03.2026;250\n"


@pytest.fixture
def send(pages):
    """Return a function that sends the form and returns the answer."""

    def post(content: bytes | None = None, **typed: str):
        sent = {"kind": "samples", "key": typed.pop("key", "k-1"), **typed}
        attached = None if content is None else {"file": ("list.csv", content)}
        return pages.post("/lists", data=sent, files=attached)

    return post


def held_in(text: str) -> str:
    return re.search(r'name="held" value="([^"]+)"', text)[1]


def test_a_list_is_seen_mended_and_recorded_once(pages, send, opened):
    assert "Take in a list" in pages.get("/lists").text
    seen = send(LIST)
    assert seen.status_code == 200
    assert "reads in several ways" in seen.text
    held = held_in(seen.text)
    mended = {"held": held, "unit-volume": "mL", "column-volume": "Volume"}
    mended |= {"column-sample": "Lab number", "column-description": "Product"}
    mended |= {"column-received_at": "Received on", "dates": "day-month-year", "press": "look"}
    again = send(**mended)
    assert "Record 1 new rows" in again.text
    assert "S-71" not in opened.state.samples
    done = send(**(mended | {"press": "all", "keep_as": "desk"}))
    assert "1 entries recorded" in done.text
    assert opened.state.samples["S-71"].received_at.startswith("2026-03-02")
    assert opened.state.import_mappings["desk"].units["volume"] == "mL"
    by_name = send(LIST, kept="desk")
    assert "Nothing in it is new" in by_name.text


@pytest.mark.parametrize(("content", "status"), [(b"", 400), (b"a\n", 400), (None, 400)])
def test_what_is_no_list_is_told_and_nothing_is_lost(send, content, status):
    answer = send(content)
    assert answer.status_code == status
    assert 'value="samples" selected' in answer.text
