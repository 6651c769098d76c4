"""The port: one suite for every engine."""

import dataclasses
import itertools
import threading

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from record_entries import LESS_VOLUME, make_entry

from closedcup.errors import Conflict, Damaged, InputError
from closedcup.records import UnknownOutcome, check, digest, open_store
from closedcup.records.chain import GENESIS

RECORDED = "2026-03-02T08:15:07Z"
LATER = "2026-03-02T08:16:00Z"


def test_appends_and_reads_in_order(store, entry):
    assert (store.head().seq, store.head().seal) == (0, GENESIS)
    recorded = [store.append(entry(number), recorded_at=RECORDED) for number in range(5)]
    assert [event.seq for event in recorded] == [1, 2, 3, 4, 5]
    assert list(store.read()) == recorded
    assert list(store.read(3)) == recorded[3:]
    assert list(store.read(1, subject="sample/S-0")) == [recorded[3]]
    assert store.head() == recorded[-1].head


def test_keeps_what_was_appended_after_closing(url, entry):
    with open_store(url) as store:
        event = store.append(entry(1), recorded_at=RECORDED)
    with open_store(url) as again:
        assert list(again.read()) == [event]


def test_the_same_entry_is_recorded_once(store, entry):
    first = store.append(entry(1), recorded_at=RECORDED)
    store.append(entry(2), recorded_at=RECORDED)
    again = store.append(entry(1, program="0.2.0"), recorded_at=LATER, seen_seq=0)
    assert again == first
    assert store.head().seq == 2


def test_a_key_with_other_content_is_a_conflict(store, entry):
    store.append(entry(1), recorded_at=RECORDED)
    with pytest.raises(Conflict, match="event 1, sample-received") as conflict:
        store.append(entry(1, reason="another"), recorded_at=LATER)
    assert conflict.value.kind == "key-taken"
    assert store.head().seq == 1


def test_entries_together_or_not_at_all(store, entry):
    together = [entry(number) for number in range(3)]
    recorded = store.append_all(together, recorded_at=RECORDED)
    assert store.append_all(together, recorded_at=LATER) == recorded
    with pytest.raises(Conflict):
        store.append_all([entry(3), entry(2)], recorded_at=LATER)
    with pytest.raises(InputError, match="same key"):
        store.append_all([entry(7), entry(7)], recorded_at=LATER)
    with pytest.raises(InputError, match="float"):
        store.append_all([entry(8), entry(9, body={"flash_c": 40.5})], recorded_at=LATER)
    with pytest.raises(InputError, match="UTC"):
        store.append(entry(8), recorded_at="2026-03-02T09:15:00+01:00")
    assert store.append_all([], recorded_at=LATER) == []
    assert list(store.read()) == recorded


def test_an_overtaken_entry_is_told_by_whom(store, entry):
    store.append(entry(0), recorded_at=RECORDED)
    store.append(entry(3, by="p-2", type="sample-opened"), recorded_at=RECORDED)
    store.append(entry(1), recorded_at=RECORDED)
    with pytest.raises(Conflict, match=r"sample/S-0 meanwhile: event 2, sample-opened, by p-2"):
        store.append(entry(6), recorded_at=LATER, seen_seq=1)
    assert store.append(entry(6), recorded_at=LATER, seen_seq=2).seq == 4


def test_appending_while_reading_blocks_nobody(store, entry):
    store.append_all([entry(number) for number in range(2500)], recorded_at=RECORDED)
    reader = store.read()
    next(reader)
    store.append(entry(2500), recorded_at=RECORDED)
    assert sum(1 for _ in reader) == 2500


def test_threads_share_a_store(store, entry):
    def append(start):
        for number in range(start, start + 20):
            store.append(entry(number), recorded_at=RECORDED)

    threads = [threading.Thread(target=append, args=(start,)) for start in (0, 100, 200)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert check(store).as_json() | {"events": 60, "intact": True} == check(store).as_json()


def test_documents_are_kept_as_issued(store):
    sha256 = store.attach("report R-1.pdf", b"%PDF-1.7 ...")
    assert sha256 == digest(b"%PDF-1.7 ...")
    assert store.attach("copy.pdf", b"%PDF-1.7 ...") == sha256
    assert store.attachments() == [sha256]
    kept = store.attachment(sha256)
    assert (kept.name, kept.content) == ("report R-1.pdf", b"%PDF-1.7 ...")
    with pytest.raises(InputError, match="No document"):
        store.attachment("0" * 64)


def test_names_can_be_changed_and_erased(store, entry):
    event = store.append(entry(1), recorded_at=RECORDED)
    store.set_name("p-1", "A. Example")
    store.set_name("p-1", "B. Example")
    store.set_name("p-2", "C. Example")
    assert store.names() == {"p-1": "B. Example", "p-2": "C. Example"}
    store.erase_name("p-1")
    assert store.names() == {"p-2": "C. Example"}
    assert list(store.read()) == [event]


@pytest.mark.parametrize("written", [False, True], ids=["lost", "written"])
def test_a_commit_without_an_answer_is_an_unknown_outcome(store, entry, monkeypatch, written):
    """Simulated: the driver reports an error without an answer before or after it commits."""
    store.append(entry(1), recorded_at=RECORDED)
    dialect = store._engine.dialect
    commit = dialect.do_commit
    lost = dialect.loaded_dbapi.OperationalError("nothing is heard any more")

    def fail(connection):
        if written:
            commit(connection)
        raise lost

    with monkeypatch.context() as patched:
        patched.setattr(dialect, "do_commit", fail)
        with pytest.raises(UnknownOutcome, match="nothing is heard any more") as unknown:
            store.append(entry(2), recorded_at=RECORDED)
    assert unknown.value.exit_status == 3
    settled = store.settle("key-2")
    assert (settled is not None) == written
    event = store.append(entry(2), recorded_at=LATER)
    assert event.recorded_at == (RECORDED if written else LATER)
    assert store.settle("key-2") == event
    assert check(store).intact
    assert store.head().seq == 2


def test_reading_stops_at_a_changed_event(store, entry, tamper):
    store.append_all([entry(number) for number in range(4)], recorded_at=RECORDED)
    tamper(f"UPDATE events SET {LESS_VOLUME} WHERE seq = 3")
    reader = store.read()
    assert [event.seq for event in itertools.islice(reader, 2)] == [1, 2]
    with pytest.raises(Damaged, match="Event 3 is no longer what was recorded"):
        next(reader)


class PortAgainstList(RuleBasedStateMachine):
    """Any sequence of entries, repeats and reopenings leaves what a plain list would hold."""

    def __init__(self, url):
        super().__init__()
        self.url, self.store, self.expected = url, open_store(url), []

    @rule(
        numbers=st.lists(st.integers(0, 30), max_size=4, unique=True), seen=st.none() | st.just(0)
    )
    def send(self, numbers, seen):
        news = [make_entry(number) for number in numbers]
        recorded = {event.key: event for event in self.expected}
        before = [new.key in recorded for new in news]
        subjects = {event.subject for event in self.expected}
        overtaken = seen == 0 and any(new.subject in subjects for new in news)
        if any(before) and not all(before):
            with pytest.raises(Conflict):
                self.store.append_all(news, recorded_at=RECORDED, seen_seq=seen)
        elif all(before):
            answer = self.store.append_all(news, recorded_at=LATER, seen_seq=seen)
            assert answer == [recorded[new.key] for new in news]
        elif overtaken:
            with pytest.raises(Conflict):
                self.store.append_all(news, recorded_at=RECORDED, seen_seq=seen)
        else:
            self.expected += self.store.append_all(news, recorded_at=RECORDED, seen_seq=seen)

    @precondition(lambda self: self.expected)
    @rule(data=st.data())
    def send_again_changed(self, data):
        event = data.draw(st.sampled_from(self.expected))
        changed = dataclasses.replace(make_entry(int(event.key[4:])), reason="changed")
        with pytest.raises(Conflict):
            self.store.append(changed, recorded_at=LATER)

    @rule()
    def reopen(self):
        self.store.close()
        self.store = open_store(self.url)

    @invariant()
    def equals_the_list(self):
        assert list(self.store.read()) == self.expected
        result = check(self.store)
        assert (result.intact, result.events) == (True, len(self.expected))

    def teardown(self):
        self.store.close()


def test_behaves_as_a_list(new_url, url):
    # a new database takes longer to make than a new file
    examples = 15 if url.startswith("sqlite") else 2

    def machine():
        return PortAgainstList(new_url())

    from hypothesis.stateful import run_state_machine_as_test

    run_state_machine_as_test(
        machine, settings=settings(max_examples=examples, stateful_step_count=12, deadline=None)
    )
