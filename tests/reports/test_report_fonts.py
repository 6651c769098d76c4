"""The typeface: unmodified, licensed, and the same for charts, documents and pages."""

import hashlib
import re
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.reports.glyphs import UNPRINTABLE, printable, printable_characters


@pytest.mark.parametrize("folder", ["reports/fonts", "app/web/static/fonts"])
def test_vendored_files_are_those_that_the_list_names(folder):
    place = files("closedcup").joinpath(folder)
    listed = dict(
        re.findall(
            r"^\| (\S+) \|.*\| (\w{64}) \|$",
            place.joinpath("VENDOR.md").read_text(encoding="utf-8"),
            re.MULTILINE,
        )
    )
    shipped = {
        entry.name: hashlib.sha256(entry.read_bytes()).hexdigest()
        for entry in place.iterdir()
        if entry.name.startswith("Source")
    }
    assert listed == shipped
    assert "SIL OPEN FONT LICENSE Version 1.1" in place.joinpath("LICENSE.md").read_text("utf-8")


def test_the_signs_of_the_trade_and_three_alphabets_have_glyphs():
    needed = "°±×−–—≤≥µ†½№ÄéßřŁΑΩαωάАЯяёЂ"
    assert {ord(sign) for sign in needed} <= printable_characters()


@given(st.text())
def test_what_comes_out_can_always_be_set(text):
    shown = printable(text)
    allowed = printable_characters() | {0x200B, 0xA0}
    assert all(ord(character) in allowed for character in shown)
    assert "\n" not in shown
    assert printable(shown.replace("\u200b", "")) == shown or UNPRINTABLE in shown
