"""A laboratory copied between any two engines: everything equal, or nothing there."""

import pytest
from record_entries import LESS_VOLUME, make_entry

from closedcup.errors import Conflict, Damaged
from closedcup.records import check, open_store
from closedcup.records.copying import copy_records

RECORDED = "2026-03-02T08:15:07Z"
EVENTS = 1004


@pytest.fixture
def filled(store):
    store.attach("report.pdf", b"%PDF as issued")
    store.attach("record.json", b"{}")
    store.set_name("p-1", "A. Éxample")
    news = [make_entry(number, reason="é “x”\x00"[: number % 7]) for number in range(EVENTS)]
    store.append_all(news, recorded_at=RECORDED)
    return store


@pytest.fixture(params=["sqlite", "postgresql"])
def target_url(request, tmp_path):
    if request.param == "postgresql":
        return request.getfixturevalue("new_database")()
    return f"sqlite:///{(tmp_path / 'target.sqlite').as_posix()}"


def holdings(store):
    documents = [store.attachment(sha256) for sha256 in store.attachments()]
    return list(store.stored()), documents, store.names()


def test_everything_is_copied_byte_for_byte(filled, target_url):
    told = []
    with open_store(target_url) as target:
        copied = copy_records(filled, target, progress=lambda *words: told.append(words))
        assert holdings(target) == holdings(filled)
        assert check(target).holds
        assert (copied.events, copied.documents, copied.people) == (EVENTS, 2, 1)
        assert copied.head == filled.head() == target.head()
        # and the work goes on there
        assert target.append(make_entry(9000), recorded_at=RECORDED).seq == EVENTS + 1
    assert ("copying", 1000, EVENTS) in told
    assert told[-1] == ("checking", EVENTS, EVENTS)


def test_records_that_hold_something_are_never_written_over(filled, target_url):
    for fill in (
        lambda target: target.set_name("p-9", "Z"),
        lambda target: target.attach("theirs", b"theirs"),
        lambda target: target.append(make_entry(1), recorded_at=RECORDED),
    ):
        with open_store(target_url) as target:
            fill(target)
            before = holdings(target)
            with pytest.raises(Conflict) as refusal:
                copy_records(filled, target)
            assert refusal.value.kind == "not-empty"
            assert holdings(target) == before


class Interrupted(Exception):
    pass


def interrupt(_doing, _done, _all):
    raise Interrupted


def test_an_interrupted_copy_leaves_nothing_and_is_done_again(filled, target_url):
    with open_store(target_url) as target:
        with pytest.raises(Interrupted):
            copy_records(filled, target, progress=interrupt)
        assert holdings(target) == ([], [], {})
        assert copy_records(filled, target).events == EVENTS


def test_what_is_recorded_meanwhile_is_told_or_left_out(filled, url, target_url):
    with open_store(url) as client, open_store(target_url) as target:

        def record_meanwhile(doing, done, _all):
            if doing == "copying" and done == 1000:
                client.append(make_entry(client.head().seq), recorded_at=RECORDED)

        with pytest.raises(Conflict, match=f"ends at event {EVENTS}, the original now at"):
            copy_records(filled, target, progress=record_meanwhile)
        assert target.head().seq == 0
        copied = copy_records(filled, target, live=True, progress=record_meanwhile)
        assert copied.events == EVENTS + 1
        assert client.head().seq == EVENTS + 2


@pytest.mark.parametrize(
    "statement",
    [
        f"UPDATE events SET {LESS_VOLUME} WHERE seq = 1002",
        "UPDATE events SET subject = 'sample/S-9' WHERE seq = 1002",
        "UPDATE events SET algorithm = 'other' WHERE seq = 1002",
        "DELETE FROM events WHERE seq = 1002",
        "UPDATE attachments SET content = convert_to('other', 'UTF8') WHERE name = 'report.pdf'",
    ],
)
def test_damaged_records_are_not_copied(filled, tamper, tmp_path, statement):
    tamper(statement)
    with open_store(f"sqlite:///{(tmp_path / 'copy.sqlite').as_posix()}") as target:
        with pytest.raises(Damaged):
            copy_records(filled, target)
        assert holdings(target) == ([], [], {})
