"""How fast records are appended, checked, copied and folded, beside hashing the same bytes."""

import hashlib
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from closedcup.records import NewEvent, check, open_store
from closedcup.records.backups import back_up
from closedcup.records.copying import copy_records

EVENTS = 20_000
SINGLY = 200
RECORDED = "2026-03-02T08:15:07Z"


def entry(number: int) -> NewEvent:
    """Return an entry the size of a determination."""
    return NewEvent(
        key=f"00000000-0000-4000-8000-{number:012d}",
        type="igniter-applied",
        subject=f"S-{number // 8:04d}-T1-1",
        observed_at=f"2026-03-02T09:{number // 60 % 60:02d}:{number % 60:02d}+01:00",
        by="p-1",
        program="0.1.0",
        data="2026-11",
        body={
            "move": {"specimen": number % 8, "cup_c": "40.50", "eye": "no flash"},
            "reading": {"cup_c": "40.5", "pressure": "95.2 kPa", "detector": False},
        },
    )


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="closedcup-") as name:
        folder = Path(name)
        news = [entry(number) for number in range(EVENTS)]
        with open_store(f"sqlite:///{(folder / 'records.sqlite').as_posix()}") as store:
            singly = seconds(
                lambda: [store.append(new, recorded_at=RECORDED) for new in news[:SINGLY]]
            )
            together = seconds(lambda: store.append_all(news[SINGLY:], recorded_at=RECORDED))
            rows = list(store.stored())
            hashed = min(
                seconds(lambda: [hashlib.sha256(row.canonical).hexdigest() for row in rows])
                for _ in range(3)
            )
            checked = min(seconds(lambda: check(store)) for _ in range(3))
            read = seconds(lambda: sum(1 for _ in store.read()))
            with open_store(f"sqlite:///{(folder / 'copy.sqlite').as_posix()}") as copy:
                copied = seconds(lambda: copy_records(store, copy))
            saved = seconds(
                lambda: back_up(store, folder / "backups", taken_at=RECORDED, program="0.1.0")
            )
    for what, events, taken in (
        ("hash alone", EVENTS, hashed),
        ("check", EVENTS, checked),
        ("read", EVENTS, read),
        ("append together", EVENTS - SINGLY, together),
        ("append one by one", SINGLY, singly),
        ("copy and prove", EVENTS, copied),
        ("back up and restore", EVENTS, saved),
    ):
        times = (taken / events) / (hashed / EVENTS)
        print(f"{what:<20} {events / taken:9,.0f} events/s, {times:6.1f} × the hash alone")


if __name__ == "__main__":
    main()
