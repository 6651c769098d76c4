"""Every item of the report is present, omitted with a reason, or the report is refused."""

import pytest

from closedcup.errors import Refused
from closedcup.reports import check, require_complete

# For each item: the part of the record without which it is missing.
_TAKEN_AWAY = {
    "a": ("report", "title", ""),
    "b": ("laboratory", "address", ""),
    "c": ("laboratory", "place_of_activity", None),
    "d": ("report", "number", ""),
    "e": ("customer", "contact", None),
    "f": ("test", "edition", None),
    "g": ("sample", "condition", None),
    "h": ("sample", "sampled_at", None),
    "i": (None, "determinations", []),
    "j": ("report", "issued_at", ""),
    "k": (None, "omitted", {"p": "none took part"}),
    "l": ("sample", "id", ""),
    "m": ("result", "statement", ""),
    "n": ("result", "deviations", [" "]),
    "o": ("report", "authorised_by", "somebody"),
    "p": (None, "omitted", {"k": "the customer took the sample"}),
    "7.8.2.2 customer": (None, "customer_supplied", []),
    "7.8.2.2 as received": ("sample", "condition", None),
    "7.8.3 conditions": ("pressure", "text", ""),
    "7.8.3 uncertainty": ("result", "uncertainty_note", None),
    "7.8.6": ("conformity", "rule", ""),
    "7.8.8": ("report", "replaces", "R-2026-0040"),
}


def _states(record):
    return {item.key: item.state for item in check(record)}


def test_the_sixteen_items_come_first_and_in_order(record):
    keys = [item.key for item in check(record)]
    assert "".join(keys[:16]) == "abcdefghijklmnop"
    assert set(keys) == set(_TAKEN_AWAY)


def test_a_complete_record_passes(record):
    states = {item.key: item.state for item in require_complete(record)}
    assert states["k"] == states["p"] == "omitted"
    assert states["7.8.8"] == "does not arise"
    assert set(states.values()) == {"present", "omitted", "does not arise"}


@pytest.mark.parametrize("key", _TAKEN_AWAY)
def test_an_item_taken_away_is_missing_until_a_reason_is_given(record, key):
    part, name, nothing = _TAKEN_AWAY[key]
    (record[part] if part else record)[name] = nothing
    if key == "m":
        record["result"]["reported_text"] = None
    assert _states(record)[key] == "missing"
    with pytest.raises(Refused) as refusal:
        require_complete(record)
    item = next(item for item in check(record) if item.key == key)
    assert item.clause in refusal.value.what
    assert item.detail in refusal.value.fix
    record["omitted"][key] = "a stated reason"
    assert _states(record)[key] == "omitted"


def test_as_received_does_not_arise_where_the_laboratory_sampled(record):
    record["sample"]["sampled_by"] = "laboratory"
    assert _states(record)["7.8.2.2 as received"] == "does not arise"


def test_a_limit_test_without_a_conformity_statement_is_incomplete(record):
    record["conformity"] = None
    assert _states(record)["7.8.6"] == "does not arise"
    record["test"]["kind"] = "limit"
    assert _states(record)["7.8.6"] == "missing"


def test_an_amended_report_names_what_changed_and_has_its_own_number(record):
    record["report"] |= {"replaces": "R-2026-0040", "changes": "Customer's address corrected."}
    assert _states(record)["7.8.8"] == "present"
    record["report"]["replaces"] = record["report"]["number"]
    assert _states(record)["7.8.8"] == "missing"


def test_a_held_result_is_not_reported(record):
    record["result"]["state"] = "held"
    with pytest.raises(Refused, match="held"):
        require_complete(record)


def test_a_reason_for_no_item_is_refused(record):
    record["omitted"]["q"] = "no such item"
    with pytest.raises(Refused, match="q"):
        require_complete(record)
