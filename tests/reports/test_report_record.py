"""The record: one definition checks it, types it and documents it; its bytes are canonical."""

import json
from pathlib import Path

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.reports import canonical_record_bytes, open_record
from closedcup.reports.canonical import canonical_json
from closedcup.reports.record import Record
from closedcup.reports.shape import describe

_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.text()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=12,
)


@pytest.mark.outside(source="RFC 8785, as the package rfc8785 writes it", known="package")
@given(_JSON)
def test_canonical_bytes_are_those_of_an_independent_writer(value):
    assert canonical_json(value) == rfc8785.dumps(value)


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), 2**53, {1: "a"}, {"a": {2}}, "\ud800"]
)
def test_what_json_readers_do_not_share_is_refused(value):
    with pytest.raises(InputError):
        canonical_json(value)


def test_bytes_keep_the_decimals_and_read_back_as_the_record(record):
    written = canonical_record_bytes(record)
    assert b'"cup_c":"35.0"' in written
    assert json.loads(written) == record


def test_measured_values_may_be_numbers(record):
    record["determinations"][0]["cup_c"] = 35.0
    record["result"]["corrected_c"] = 46.775
    assert open_record(record)


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (("result", "state"), "probably", "record.result.state"),
        (("determinations", 2, "cup_c"), "45,0", "record.determinations[2].cup_c"),
        (("determinations", 2, "cup_c"), True, "record.determinations[2].cup_c"),
        (("determinations", 2, "cup_c"), "NaN", "record.determinations[2].cup_c"),
        (("determinations", 0, "number"), "1", "record.determinations[0].number"),
        (("test", "limit"), [], "record.test.limit"),
        (("omitted", "k"), None, "record.omitted.k"),
        (("version",), True, "record.version"),
        (("pressure", "kpa"), float("inf"), "record.pressure.kpa"),
    ],
)
def test_a_wrong_value_is_told_by_its_path(record, path, value, told):
    place = record
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    with pytest.raises(InputError) as refusal:
        open_record(record)
    assert refusal.value.where == told


def test_a_missing_key_is_told_and_an_added_key_is_kept(record):
    record["sample"]["colour"] = "clear"
    assert b'"colour":"clear"' in canonical_record_bytes(record)
    del record["apparatus"]["verification"]["lot"]
    with pytest.raises(InputError, match="lot") as refusal:
        open_record(record)
    assert refusal.value.where == "record.apparatus.verification"


def test_the_reference_page_lists_every_key():
    page = Path(__file__).parents[2] / "docs" / "record-format.md"
    rows = [f"| `{path}` | {allowed} | {meaning} |" for path, allowed, meaning in describe(Record)]
    assert all(meaning for _, _, meaning in describe(Record))
    table = [line for line in page.read_text(encoding="utf-8").splitlines() if line[:3] == "| `"]
    assert table == rows, "docs/record-format.md is out of date: its table should be\n" + "\n".join(
        rows
    )
