"""The envelope: what it refuses, and that it is read back from the bytes that were hashed."""

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from record_entries import make_entry

from closedcup.errors import Damaged, InputError
from closedcup.records import Event, canonical_bytes, read_canonical
from closedcup.records.events import canonical_event, outline

RECORDED = "2026-03-02T08:15:07Z"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("key", ""),
        ("key", 7),
        ("subject", "  "),
        ("by", ""),
        ("program", ""),
        ("data", ""),
        ("reason", None),
        ("type", "Sample received"),
        ("type", ""),
        ("version", 0),
        ("version", True),
        ("observed_at", "2026-03-02T09:15:00"),  # no offset
        ("observed_at", "2026-02-30T09:15:00+01:00"),
        ("observed_at", "02.03.2026 09:15"),
        ("observed_at", ""),
        ("body", ["a", "list"]),
    ],
)
def test_an_unfit_envelope_is_refused(entry, field, value):
    with pytest.raises(InputError) as refusal:
        entry(1, **{field: value})
    assert refusal.value.where == field


def test_is_read_back_from_its_bytes(entry):
    new = entry(1, reason="late entry")
    event = Event.from_canonical(canonical_event(new, seq=1, recorded_at=RECORDED), "0" * 64)
    assert (event.seq, event.recorded_at, event.head.seq) == (1, RECORDED, 1)
    assert event.asks_the_same(new)
    assert event.body["volume_ml"] == "40.50"


@pytest.mark.parametrize("field", ["subject", "reason", "body", "by", "observed_at", "type"])
def test_another_entry_is_told_from_the_same(entry, field):
    other = {"observed_at": "2026-03-02T09:15:01+01:00", "body": {}, "type": "sample-opened"}
    assert not entry(1).asks_the_same(entry(1, **{field: other.get(field, "other")}))
    assert entry(1).asks_the_same(entry(1, program="0.2.0", data="2026-09"))


@pytest.mark.parametrize("recorded_at", ["2026-03-02T09:15:07+01:00", "2026-03-02", ""])
def test_recording_time_is_utc(entry, recorded_at):
    data = canonical_event(entry(1), seq=1, recorded_at=recorded_at)
    with pytest.raises(Damaged, match="UTC"):
        Event.from_canonical(data, "0" * 64)


@pytest.mark.parametrize(
    "change", [{"seq": 0}, {"seq": "1"}, {"note": "x"}, {"seal": "x"}, {"by": None}]
)
def test_other_envelopes_are_damage(entry, change):
    envelope = read_canonical(canonical_event(entry(1), seq=1, recorded_at=RECORDED))
    with pytest.raises(Damaged):
        Event.from_canonical(canonical_bytes({**envelope, **change}), "0" * 64)
    with pytest.raises(Damaged):
        Event.from_canonical(canonical_bytes([envelope]), "0" * 64)


texts = st.text(st.characters(exclude_categories=["Cs"]), min_size=1).filter(str.strip)
bodies = st.recursive(
    st.none() | st.integers(-9, 9) | texts,
    lambda inner: st.lists(inner) | st.dictionaries(texts, inner),
)
LOOKS_LIKE_AN_ENVELOPE = canonical_event(make_entry(9), seq=9, recorded_at=RECORDED).decode()


@settings(deadline=None)
@given(key=texts, subject=texts, reason=texts | st.just(""), note=bodies)
@example(key="k", subject="s", reason="", note=read_canonical(LOOKS_LIKE_AN_ENVELOPE.encode()))
@example(key="k", subject="s", reason=LOOKS_LIKE_AN_ENVELOPE, note=[LOOKS_LIKE_AN_ENVELOPE])
@example(key='","by":"', subject="\\", reason='"', note=None)
def test_the_outline_is_what_the_whole_says(key, subject, reason, note):
    new = make_entry(1, key=key, subject=subject, reason=reason, body={"note": note})
    data = canonical_event(new, seq=7, recorded_at=RECORDED)
    read = outline(data)
    assert read in (None, (7, key, subject, RECORDED))
    plain = not any(mark in text for text in (key, subject, reason) for mark in '"\\')
    if plain and all(text.isprintable() for text in (key, subject, reason)):
        assert read is not None


@pytest.mark.parametrize("data", [b"", b"{}", b"[]", LOOKS_LIKE_AN_ENVELOPE[20:].encode()])
def test_other_bytes_have_no_outline(data):
    assert outline(data) is None
