"""Canonical bytes: equal to RFC 8785 by an independent implementation; floats refused."""

import json

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import Damaged, InputError
from closedcup.records import canonical_bytes, read_canonical

GREATEST = 2**53 - 1
# small alphabets make keys collide in their first characters, on both sides of the surrogates
keys = st.text() | st.text(alphabet='aé€\ud7ff\ue000\ufb33\U0001f600\U00010000\x00\x1f"\\\n\u2028')
json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-GREATEST, GREATEST) | keys,
    lambda inner: st.lists(inner) | st.dictionaries(keys, inner),
)


@pytest.mark.outside(source="rfc8785 0.1.4, RFC 8785", known="package")
@settings(deadline=None)
@given(json_values)
def test_equals_an_independent_implementation(value):
    assert canonical_bytes(value) == rfc8785.dumps(value)


@settings(deadline=None)
@given(json_values)
def test_reads_back_what_it_wrote(value):
    assert read_canonical(canonical_bytes(value)) == value


def test_a_decimal_string_keeps_its_resolution():
    assert canonical_bytes({"flash_c": "40.50"}) == b'{"flash_c":"40.50"}'


@pytest.mark.parametrize(
    "value",
    [
        40.5,
        float("nan"),
        {"a": [1, {"b": -0.0}]},
        2**53,
        -(2**53),
        "\ud800",
        {"\udfff": 1},
        {1: "a"},
        b"bytes",
        {1, 2},
        object(),
    ],
    ids=repr,
)
def test_refuses_what_has_no_canonical_form(value):
    with pytest.raises(InputError) as refusal:
        canonical_bytes(value)
    assert refusal.value.kind == "not-recordable"


def test_a_refusal_says_where():
    with pytest.raises(InputError, match=r"\$\.readings\[1\]\.cup_c") as refusal:
        canonical_bytes({"readings": [{"cup_c": "40.0"}, {"cup_c": 40.5}]})
    assert "“40.50”" in refusal.value.fix


def test_refuses_endless_nesting():
    endless: list[object] = []
    endless.append(endless)
    with pytest.raises(InputError, match="nested too deeply"):
        canonical_bytes(endless)


@pytest.mark.parametrize(
    "data",
    [
        b'{"a": 1}',  # white space
        b'{"b":1,"a":2}',  # order
        b'{"a":1,"a":2}',  # one key twice
        b'{"a":1.0}',
        b'{"a":NaN}',
        b'{"a":"\\u0041"}',  # a needless escape
        b'{"a":"\\ud800"}',
        b'{"a":"\xff"}',
        b"\xef\xbb\xbf{}",  # byte order mark
        b"",
        b"[" * 100_000,
        json.dumps({"ä": 1}).encode(),
        '{"é":1,"a":2}'.encode(),
        '{"\ue000":1,"\U0001f600":2}'.encode(),  # the order of code points, not of UTF-16 units
        '{"\U0001f600":1,"\U0001f600":2}'.encode(),
        b'{"a":[{"b":1,"b":1}]}',
        b'{"a":9007199254740992}',
    ],
    ids=lambda data: data[:20],
)
def test_reads_nothing_but_canonical_bytes(data):
    with pytest.raises(Damaged) as damage:
        read_canonical(data)
    assert damage.value.kind == "not-canonical"
