"""Real processes: killed while they write, and writing at the same time.

CLOSEDCUP_KILL_ROUNDS sets how many writers are killed (8 unless set).
"""

import os
import random
import time

from record_entries import make_entry

from closedcup.records import check, open_store

ROUNDS = int(os.environ.get("CLOSEDCUP_KILL_ROUNDS", "8"))


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
    writers = [start_writer(url, name, 50) for name in ("a", "b")]
    answers = [writer.communicate()[0].split() for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0]
    with open_store(url) as store:
        keys = [event.key for event in store.read()]
        assert check(store).intact
    assert sorted(keys) == sorted(answers[0] + answers[1])
    for name, answer in zip("ab", answers, strict=True):
        assert [key for key in keys if key.startswith(name)] == answer
