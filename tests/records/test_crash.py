"""Real processes: killed while they write, and writing at the same time.

CLOSEDCUP_KILL_ROUNDS sets how many writers are killed (3 unless set), CLOSEDCUP_WRITERS and
CLOSEDCUP_ENTRIES how many write at once (3) and how much each (20).
"""

import os
import random
import threading
import time

from record_entries import make_entry

from closedcup.errors import Conflict
from closedcup.records import check, open_store

ROUNDS = int(os.environ.get("CLOSEDCUP_KILL_ROUNDS", "3"))
WRITERS = int(os.environ.get("CLOSEDCUP_WRITERS", "3"))
ENTRIES = int(os.environ.get("CLOSEDCUP_ENTRIES", "20"))


def test_a_killed_writer_loses_nothing_acknowledged(url, start_writer):
    moments = random.Random(7)
    acknowledged = []
    for turn in range(ROUNDS):
        with start_writer(url, f"turn-{turn}", 1_000_000) as writer:
            acknowledged.append(writer.stdout.readline().strip())
            time.sleep(moments.uniform(0, 0.15))
            writer.kill()
            acknowledged += writer.stdout.read().split()
        with open_store(url) as store:
            result = check(store)
            assert result.intact, result.problems
            stored = [event.key for event in store.read()]
            of_turn = [key for key in stored if key.startswith(f"turn-{turn}-")]
            # at most the one under way is there without having been acknowledged
            assert len(of_turn) - len([k for k in acknowledged if k in of_turn]) in (0, 1)
            last = f"turn-{turn}-{len(of_turn) - 1}"
            again = store.append(
                make_entry(len(of_turn) - 1, key=last), recorded_at="2026-03-02T09:00:00Z"
            )
            assert again == store.settle(last)
            assert store.head().seq == len(stored)
        assert [key for key in stored if key in set(acknowledged)] == acknowledged


def test_writers_at_once_never_fork_the_chain(url, start_writer):
    names = [f"w{number}" for number in range(WRITERS)]
    writers = [start_writer(url, name, ENTRIES) for name in names]
    answers = {}
    threads = [
        threading.Thread(
            target=lambda name, writer: answers.update({name: writer.communicate()[0].split()}),
            args=(name, writer),
        )
        for name, writer in zip(names, writers, strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert {writer.returncode for writer in writers} == {0}
    with open_store(url) as store:
        keys = [event.key for event in store.read()]
        assert check(store).intact
    assert len(keys) == WRITERS * ENTRIES
    for name in names:
        assert [key for key in keys if key.startswith(f"{name}-")] == answers[name]
        assert len(answers[name]) == ENTRIES


def test_of_two_benches_on_one_sample_the_second_is_told(url):
    """Both have seen the same and enter at once: one is recorded, the other hears of it."""
    with open_store(url) as first, open_store(url) as second:
        seen = first.append(make_entry(0), recorded_at="2026-03-02T08:15:07Z").seq
        told = []

        def enter(store, number, bench):
            try:
                new = make_entry(number, key=f"{bench}-{number}", by=bench, subject="sample/S-0")
                store.append(new, recorded_at="2026-03-02T08:15:08Z", seen_seq=seen)
            except Conflict as conflict:
                told.append((bench, conflict))

        threads = [
            threading.Thread(target=enter, args=(store, number, bench))
            for number, (store, bench) in enumerate([(first, "p-1"), (second, "p-2")])
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        ((bench, conflict),) = told
        (entered,) = first.read(after_seq=seen)
        assert conflict.kind == "overtaken"
        assert entered.by != bench
        assert f"by {entered.by}" in conflict.what
