"""Old shapes of events are read through conversions; what is stored stays as it was sealed."""

import pytest

from closedcup.errors import Damaged
from closedcup.records import Event, canonical_bytes, check
from closedcup.records.events import canonical_event
from closedcup.records.upcasts import STEPS, latest_version, upcast

RECORDED = "2026-03-02T08:15:07Z"


def to_litres(body):
    rest = {name: value for name, value in body.items() if name != "volume_ml"}
    return {**rest, "volume_l": f"{float(body['volume_ml']) / 1000:.5f}"}


def name_the_vessel(body):
    return {**body, "vessel": "not recorded"}


LATER_STEPS = {("sample-received", 1): to_litres, ("sample-received", 2): name_the_vessel}


@pytest.fixture
def later_program(monkeypatch):
    """A program in which one kind has had three shapes."""
    for key, step in LATER_STEPS.items():
        monkeypatch.setitem(STEPS, key, step)


def test_old_events_are_read_in_todays_shape_and_stay_as_sealed(store, entry, later_program):
    news = [
        entry(0),
        entry(1, version=2, body={"volume_l": "0.04050"}),
        entry(2, version=3, body={"volume_l": "0.04050", "vessel": "bottle"}),
        entry(3, type="sample-opened"),
    ]
    recorded = store.append_all(news, recorded_at=RECORDED)
    before = list(store.stored())
    read = list(store.read())
    assert [event.version for event in read] == [3, 3, 3, 1]
    assert read[0].body == {"number": 0, "volume_l": "0.04050", "vessel": "not recorded"}
    assert read[1].body == {"volume_l": "0.04050", "vessel": "not recorded"}
    assert read[2:] == recorded[2:]
    assert [event.head for event in read] == [event.head for event in recorded]
    assert list(store.stored()) == before
    assert check(store).intact
    # asked again with the old program's words, it is still the same entry
    assert store.append(entry(0), recorded_at=RECORDED).seq == 1


def test_a_shape_of_a_newer_program_is_told(store, entry):
    store.append(entry(0, version=2), recorded_at=RECORDED)
    with pytest.raises(Damaged, match=r"has shape 2; this program knows shapes up to 1") as told:
        list(store.read())
    assert told.value.kind == "event-newer"
    assert check(store).intact


def test_every_step_ends_at_the_latest_shape(entry, later_program):
    for kind, version in STEPS:
        assert version < latest_version(kind)
    data = canonical_event(entry(0), seq=1, recorded_at=RECORDED)
    event = upcast(Event.from_canonical(data, "0" * 64))
    assert event.version == 3
    canonical_bytes(event.body)
