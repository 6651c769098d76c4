"""The seal: its layout is fixed for good, and a printed one is read back."""

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.records import Event, Head, chain, digest, format_seal, parse_seal
from closedcup.records.chain import GENESIS, seal

SEALS_PAGE = Path(__file__).parents[2] / "docs" / "decisions" / "seals.md"
seals = st.integers(0, 2**256 - 1).map(lambda number: f"{number:064x}")
heads = st.builds(Head, st.integers(0, 10**7), seals)


def test_the_worked_example_of_the_documentation():
    page = SEALS_PAGE.read_text(encoding="utf-8")
    previous = re.search(r"^PREVIOUS=(\w+)$", page, re.MULTILINE)[1]
    canonical = re.search(r"^CANONICAL='(.+)'$", page, re.MULTILINE)[1].encode()
    expected = re.search(r"^# (\w{64})$", page, re.MULTILINE)[1]
    assert previous == GENESIS == digest(b"closedcup.records.genesis\nsha256-v1\n")
    assert seal(previous, canonical) == expected
    by_hand = b"closedcup.records.event\nsha256-v1\n" + previous.encode() + b"\n" + canonical
    assert digest(by_hand) == expected
    event = Event.from_canonical(canonical, expected)
    assert format_seal(event.head) in page
    assert chain.ALGORITHM in page


@settings(deadline=None)
@given(seals, st.binary(), seals, st.binary())
def test_differs_with_either_part(previous, canonical, other_previous, other_canonical):
    same = (previous, canonical) == (other_previous, other_canonical)
    assert (seal(previous, canonical) == seal(other_previous, other_canonical)) == same


@settings(deadline=None)
@given(heads, st.sampled_from([str.upper, str.lower, lambda text: text.replace("-", " ")]))
def test_a_printed_seal_is_read_back(head, typed):
    printed = parse_seal(typed(f" {format_seal(head)} "))
    assert printed.seq == head.seq
    assert printed.matches(head)
    assert not printed.matches(Head(head.seq + 1, head.seal))
    assert not printed.matches(Head(head.seq, digest(head.seal.encode())))


@settings(deadline=None)
@given(heads)
def test_the_full_seal_is_read_without_its_number(head):
    assert parse_seal(head.seal).matches(head)
    assert parse_seal(f"{head.seq}-{head.seal}").matches(head)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "12",
        "12-9f86d",
        "9f86d-081c8-4c7d6-59a2f",
        "12-9f86d-081c8-4c7d6-59a2g",
        "12-9f86d-081c8-4c7d6-59a2",
        "12-" + "a" * 65,
        "²-9f86d-081c8-4c7d6-59a2f",
    ],
)
def test_refuses_half_a_seal(text):
    with pytest.raises(InputError, match="is not a seal"):
        parse_seal(text)
