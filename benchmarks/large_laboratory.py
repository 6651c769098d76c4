"""A laboratory with many results: opening it, a sample's page, the list, a search.

The made-up laboratory's first sample is written again under other names, ten determinations to a
result, until there are CLOSEDCUP_BENCH_RESULTS of them (2,000 unless set; 100,000 results with a
million determinations take some ten minutes to write and to project).
"""

import json
import os
import re
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from itertools import islice
from pathlib import Path
from statistics import median
from typing import Any

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.desk.finding import search
from closedcup.app.usecases.desk.retention import disposal_list
from closedcup.demo import run_demo
from closedcup.records import Event, NewEvent, Store, open_store
from closedcup.records.following import Following
from closedcup.records.projections import SampleQuery

RESULTS = int(os.environ.get("CLOSEDCUP_BENCH_RESULTS", "2000"))
DETERMINATIONS = 10
TOGETHER = 5000
RECORDED = "2026-03-02T08:15:07Z"


def written_again(case: list[Event], number: int) -> Iterator[NewEvent]:
    """Yield one sample's events as those of another, with ten determinations."""
    begun = next(event for event in case if event.type == "series-begun")
    moves = [event for event in case if event.subject == begun.subject and event is not begun]
    one = moves[: 1 + [each.type for each in moves].index("igniter-applied")]
    others = [event for event in case if event not in moves]
    place = others.index(begun) + 1
    determinations = [move for _ in range(DETERMINATIONS) for move in one]
    for index, event in enumerate(others[:place] + determinations + others[place:]):
        renamed = {"subject": event.subject, "body": event.body}
        text = json.dumps(renamed).replace("S-0001", f"S-1{number:06d}")
        text = re.sub(r"\bR-0001\b", f"R-1{number:06d}", text)
        text = re.sub(r"FP-2026-0001", f"FP-2026-1{number:06d}", text)
        asked = {
            name: getattr(event, name)
            for name in ("type", "version", "observed_at", "by", "reason", "program", "data")
        }
        yield NewEvent(key=f"bench-{number}-{index}", **asked, **json.loads(text))


def fill(store: Store) -> int:
    """Write the samples into the made-up laboratory; return how many events there are."""
    following = Following(store)
    following.ledger()
    case = following.cases.events_of("S-0001")
    news = (new for number in range(RESULTS) for new in written_again(case, number))
    while batch := list(islice(news, TOGETHER)):
        store.append_all(batch, recorded_at=RECORDED)
    return store.head().seq


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="closedcup-") as name:
        url = f"sqlite:///{(Path(name) / 'lab.sqlite').as_posix()}"
        run_demo(url, quiet=True)
        with open_store(url) as store:
            written = seconds(lambda: fill(store))
            events = store.head().seq
            projected = seconds(lambda: Following(store).ledger())
        told: list[tuple[str, float]] = []
        with open_laboratory(url) as opened:
            told.append(("open", seconds(lambda: opened.state)))
            told += list(_questions(opened))
    print(f"{RESULTS:,} results, {RESULTS * DETERMINATIONS:,} determinations, {events:,} events")
    print(f"write {events / written:9,.0f} events/s; project {events / projected:9,.0f} events/s")
    for what, taken in told:
        print(f"{what:<34} {taken * 1e3:8.1f} ms")


def _questions(opened: Any) -> Iterator[tuple[str, float]]:
    numbers = [RESULTS * part // 7 for part in range(7)]
    cold = [
        seconds(lambda at=at: overview.sample_overview(opened, f"S-1{at:06d}")) for at in numbers
    ]
    yield "a sample's page data, first time", median(cold)
    warm = [
        seconds(lambda at=at: overview.sample_overview(opened, f"S-1{at:06d}")) for at in numbers
    ]
    yield "a sample's page data, again", median(warm)
    for what, words in (
        ("a sample", f"s-1{RESULTS // 2:06d}"),
        ("a word of all", "solvent"),
        ("what is not there", "no such words"),
    ):
        query = SampleQuery(words=(words,), limit=50)
        yield (
            f"search for {what}, first time",
            seconds(partial(overview.sample_list, opened, query)),
        )
        yield f"search for {what}, again", seconds(partial(overview.sample_list, opened, query))
        yield f"search everything for {what}", seconds(partial(search, opened, words))
    yield "what may be disposed of", seconds(partial(disposal_list, opened))


if __name__ == "__main__":
    main()
