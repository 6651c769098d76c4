"""The last transaction torn: what a crash can leave on the disk, and what only damage can.

Simulated, page by page: the state of the disk is made from the file before and after the last
commit and from its journal. CLOSEDCUP_TORN_ROUNDS sets how many random mixtures are tried besides.
"""

import itertools
import os
import random
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from record_entries import make_entry

from closedcup.errors import ClosedcupError
from closedcup.records import Event, check, open_store, sqlite

RECORDED = "2026-03-02T08:15:07Z"
EVENTS = 40
PAGE = 4096
ROUNDS = int(os.environ.get("CLOSEDCUP_TORN_ROUNDS", "15"))

# SQLite file format, "The Rollback Journal": the header is filled in when the journal is synced
JOURNAL_MAGIC = bytes.fromhex("d9d505f920a163d7")
JOURNAL_HEADER = 512
JOURNAL_RECORD = 4 + PAGE + 4
# … and "The Write-Ahead Log"
FRAME = 24 + PAGE


class LastCommit:
    """The disk around the last commit of a file with `EVENTS` events and one more."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(sqlite, "_JOURNAL", "delete")
        monkeypatch.setattr(sqlite, "_WAIT_S", 0.01)
        path = folder / "records.sqlite"
        with open_store(f"sqlite:///{path.as_posix()}") as store:
            for number in range(EVENTS):
                store.append(make_entry(number), recorded_at=RECORDED)
            self.before = path.read_bytes()
            commit = store._engine.dialect.do_commit
            reader = sqlite3.connect(path, isolation_level=None)
            reader.execute("BEGIN")
            reader.execute("SELECT * FROM events").fetchall()

            def commit_in_two_steps(connection):
                # a reader holds the commit up when the journal is all but complete
                with pytest.raises(sqlite3.OperationalError, match="locked"):
                    commit(connection)
                self.journal = path.with_name("records.sqlite-journal").read_bytes()
                reader.execute("ROLLBACK")
                commit(connection)

            with monkeypatch.context() as patched:
                patched.setattr(store._engine.dialect, "do_commit", commit_in_two_steps)
                store.append(make_entry(EVENTS), recorded_at=RECORDED)
            reader.close()
            self.after = path.read_bytes()
            self.events = list(store.read())
        self.journal = completed(self.journal, page(self.before, 0))
        pages = range(len(self.after) // PAGE)
        self.changed = [n for n in pages if page(self.after, n) != page(self.before, n)]
        assert len(self.changed) > 2


def completed(journal: bytes, first_page: bytes) -> bytes:
    """Do to the journal what the engine does once no reader is left: page 1, then the header."""
    nonce = int.from_bytes(journal[12:16], "big")
    checksum = (nonce + sum(first_page[place] for place in range(PAGE - 200, 0, -200))) % 2**32
    journal += (1).to_bytes(4, "big") + first_page + checksum.to_bytes(4, "big")
    records, rest = divmod(len(journal) - JOURNAL_HEADER, JOURNAL_RECORD)
    assert (records > 2, rest) == (True, 0)
    return JOURNAL_MAGIC + records.to_bytes(4, "big") + journal[12:]


def page(content: bytes, number: int) -> bytes:
    return content[number * PAGE : (number + 1) * PAGE]


def with_page(content: bytes, number: int, other: bytes) -> bytes:
    return content[: number * PAGE] + other + content[(number + 1) * PAGE :]


def torn_ways(old: bytes, new: bytes) -> dict[str, bytes]:
    """Return what a page can be while it is written."""
    half = PAGE // 2
    return {
        "new": new,
        "zeroed": bytes(PAGE),
        "first half new": new[:half] + old[half:].ljust(half, b"\0"),
        "second half new": old[:half].ljust(half, b"\0") + new[half:],
    }


@pytest.fixture(scope="module")
def last(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LastCommit]:
    with pytest.MonkeyPatch.context() as monkeypatch:
        yield LastCommit(tmp_path_factory.mktemp("last"), monkeypatch)


@pytest.fixture
def found(tmp_path: Path, monkeypatch) -> Callable[[bytes, bytes], list[Event] | str]:
    """Return a function that opens a state of the disk: its events, or what was told instead."""
    monkeypatch.setattr(sqlite, "_JOURNAL", "delete")
    path = tmp_path / "records.sqlite"
    journal = tmp_path / "records.sqlite-journal"

    def look(content: bytes, journal_content: bytes) -> list[Event] | str:
        journal.unlink(missing_ok=True)
        path.write_bytes(content)
        if journal_content:
            journal.write_bytes(journal_content)
        try:
            with open_store(f"sqlite:///{path.as_posix()}") as store:
                result = check(store)
                return list(store.read()) if result.intact else str(result.problems)
        except ClosedcupError as error:
            return str(error)

    return look


def test_a_journal_torn_anywhere_leaves_the_records_as_before(last, found):
    """The crash comes while the journal is written: nothing of the file was touched yet."""
    edges = range(JOURNAL_HEADER, len(last.journal) + 1, JOURNAL_RECORD)
    for edge in [0, 8, 12, 28, *edges, *(edge + JOURNAL_RECORD // 2 for edge in edges)]:
        cut = last.journal[:edge]
        for journal in (cut, cut.ljust(len(last.journal), b"\0"), bytes(12) + cut[12:]):
            assert found(last.before, journal) == last.events[:EVENTS], edge


def test_pages_torn_anywhere_are_rolled_back(last, found):
    """The crash comes while the pages are written: the journal is whole."""
    written = last.before
    for number in last.changed:
        old, new = page(last.before, number), page(last.after, number)
        for way, torn in torn_ways(old, new).items():
            state = with_page(written, number, torn)
            assert found(state, last.journal) == last.events[:EVENTS], (number, way)
        written = with_page(written, number, new)
    assert written == last.after


def test_random_mixtures_of_pages_are_rolled_back(last, found):
    """The disk may write pages in any order."""
    chance = random.Random(11)
    for _ in range(ROUNDS):
        state = last.before
        for number in last.changed:
            old, new = page(last.before, number), page(last.after, number)
            ways = [old, *torn_ways(old, new).values()]
            state = with_page(state, number, chance.choice(ways))
        assert found(state, last.journal) == last.events[:EVENTS]


def test_the_commit_is_the_end_of_the_journal(last, found):
    assert found(last.after, last.journal) == last.events[:EVENTS]
    assert found(last.after, b"") == last.events


def test_damage_after_the_commit_is_told(last, found):
    """No crash does this: the file cut, or pages lost, when the journal is gone."""
    states = [last.after[: n * PAGE] for n in range(1, len(last.after) // PAGE)]
    states += [last.after[: n * PAGE + 100] for n in last.changed]
    for number in last.changed:
        old, new = page(last.before, number), page(last.after, number)
        states += [with_page(last.after, number, torn) for torn in torn_ways(old, new).values()]
        states.append(with_page(last.after, number, old))
    told = 0
    for state, journal in itertools.product(states, [b"", last.journal[:JOURNAL_HEADER]]):
        answer = found(state, journal)
        assert isinstance(answer, str) or answer == last.events
        told += isinstance(answer, str)
    assert told > len(states)


def test_a_torn_write_ahead_log_loses_only_what_was_not_acknowledged(tmp_path, monkeypatch):
    monkeypatch.setattr(sqlite, "_JOURNAL", "wal")
    path, copy = tmp_path / "records.sqlite", tmp_path / "copy.sqlite"
    log = path.with_name("records.sqlite-wal")
    with open_store(f"sqlite:///{path.as_posix()}") as store:
        for number in range(EVENTS):
            store.append(make_entry(number), recorded_at=RECORDED)
        first = log.stat().st_size
        store.append(make_entry(EVENTS), recorded_at=RECORDED)
        frames, events = log.read_bytes(), list(store.read())
        shutil.copy(path, copy)
    assert (len(frames) - first) % FRAME == 0
    places = range(first, len(frames), FRAME)
    for place in [*places, *(each + 30 for each in places), *(each + 3000 for each in places)]:
        cut = frames[:place]
        for torn in (cut, cut.ljust(len(frames), b"\0")):
            copy.with_name("copy.sqlite-wal").write_bytes(torn)
            copy.with_name("copy.sqlite-shm").unlink(missing_ok=True)
            content = copy.read_bytes()
            with open_store(f"sqlite:///{copy.as_posix()}") as store:
                assert check(store).intact
                assert list(store.read()) == events[:EVENTS], place
            copy.write_bytes(content)
