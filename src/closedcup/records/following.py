"""The state of a laboratory, kept up to date with its records by reading only what is new."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

from closedcup.records.case_shelf import CASE_SHELVES, CaseShelf
from closedcup.records.cases import Cases
from closedcup.records.folding import apply
from closedcup.records.ledger import Ledger
from closedcup.records.store import Store

# How far the projections may lag behind: so many events are read in a thirtieth of a second
_LAG: Final = 500
# How many events are taken before the projections are brought up to date
_BATCH: Final = 5_000

Progress = Callable[[int, int], None]


class Following:
    """Follows a store: `ledger()` is the state of the laboratory now."""

    def __init__(self, store: Store) -> None:
        self._store = store
        common = Ledger()
        self._cases = Cases(store, common)
        for event in self._cases.common_events():
            apply(common, event)
        common.seq = self._cases.reach
        self._common = common

    @property
    def cases(self) -> Cases:
        """The samples on record, as far as the last `ledger()` knew."""
        return self._cases

    @property
    def seq(self) -> int:
        """The last event that was read."""
        return self._common.seq

    def ledger(self, progress: Progress | None = None) -> Ledger:
        """Return the state now; `progress` is told how many events are read, and of how many."""
        common, cases = self._common, self._cases
        for event in self._store.read(common.seq):
            if not cases.take(event):
                apply(common, event)
            common.seq = event.seq
            if event.seq - cases.reach >= _BATCH:
                cases.bring_up_to_date()
                if progress is not None:
                    progress(event.seq, self._store.head().seq)
        if common.seq - cases.reach >= _LAG:
            cases.bring_up_to_date()
        shelves: dict[str, Any] = {name: CaseShelf(cases, name) for name in CASE_SHELVES}
        return replace(common, cases=cases, **shelves)


def make_again(store: Store, progress: Progress | None = None) -> bool:
    """Drop the projections and make them again; return whether they were what the events say."""
    before = _projected(store, progress)
    store.projections.drop()
    return _projected(store, progress) == before


def _projected(store: Store, progress: Progress | None) -> str:
    following = Following(store)
    following.ledger(progress)
    following.cases.bring_up_to_date()
    return store.projections.fingerprint()
