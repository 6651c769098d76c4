"""Check the whole chain from the bytes as they are stored; name what is damaged; mend nothing.

The chain alone tells of a changed, inserted, moved or missing event. A cut tail, or a file rebuilt
from the first event by its owner, it cannot tell: that takes a seal kept elsewhere, as on a report.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

from closedcup.errors import Damaged
from closedcup.records import chain
from closedcup.records.chain import GENESIS, Head, PrintedSeal
from closedcup.records.events import Event, outline
from closedcup.records.sealing import is_as_sealed, recomputed_seal
from closedcup.records.store import Store, StoredEvent

# Unreadable events in a row before the check gives up: a damaged number can promise billions more
_UNREADABLE_AT_MOST: Final = 1000
# A time's first 19 characters, 2026-03-02T08:15:07: what follows can be written in several ways
_TO_THE_SECOND: Final = 19
_TELL_EVERY: Final = 5000
_BEGINNING: Final = Head(0, GENESIS)


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, with the number of the event; None for the file or a document."""

    seq: int | None
    what: str


@dataclass(frozen=True, slots=True)
class Check:
    """What a check of the records found.

    events: how many are readable; head: the last of them; notes: what is odd but no damage, a
    clock that was set back; seal_asked: whether an earlier seal was to be found; seal_found_at:
    the number of the event that bears it.
    """

    events: int
    head: Head
    problems: tuple[Problem, ...]
    notes: tuple[Problem, ...]
    seal_asked: bool
    seal_found_at: int | None

    @property
    def intact(self) -> bool:
        """Whether everything is as it was recorded, as far as the file itself can tell."""
        return not self.problems

    @property
    def first_damaged(self) -> int | None:
        """The number of the first event that is damaged or missing."""
        return next((problem.seq for problem in self.problems if problem.seq is not None), None)

    @property
    def holds(self) -> bool:
        """Whether the records are intact and bear the earlier seal, where one was given."""
        return self.intact and (not self.seal_asked or self.seal_found_at is not None)

    def as_json(self) -> dict[str, object]:
        """Return the object printed by `closedcup check-records --json`."""
        return {
            "events": self.events,
            "seal": self.head.seal,
            "printed_seal": chain.format_seal(self.head),
            "intact": self.intact,
            "first_damaged": self.first_damaged,
            "seal_found": self.seal_found_at is not None if self.seal_asked else None,
            "seal_found_at": self.seal_found_at,
            "problems": [{"event": each.seq, "what": each.what} for each in self.problems],
            "notes": [{"event": each.seq, "what": each.what} for each in self.notes],
        }


def check(
    store: Store,
    seal: PrintedSeal | None = None,
    *,
    since: Head = _BEGINNING,
    progress: Callable[[int], None] | None = None,
) -> Check:
    """Recompute every seal, look for gaps and moved events, and for an earlier seal if given.

    since: begin after this event, whose seal is known from elsewhere. `progress` is told the
    number of events read, now and then.
    """
    problems: list[Problem] = []
    notes: list[Problem] = []
    events, before, recorded_at = 0, _Before(since.seq, since.seal), ""
    found_at = 0 if seal is not None and seal.matches(_BEGINNING) else None
    last = (since.seq, since.seal)
    for row in _rows(store, since.seq):
        if isinstance(row, Problem):
            problems.append(row)
            before = _Before(row.seq or before.seq, None)
            continue
        read = outline(row.canonical)
        if read is not None and is_as_sealed(row, read, before):
            sound, before = True, _Before(row.seq, row.seal)
            if read.recorded_at[:_TO_THE_SECOND] < recorded_at:
                notes.append(_clock_set_back(row.seq, read.recorded_at, recorded_at))
            recorded_at = read.recorded_at[:_TO_THE_SECOND]
        else:
            faults, before = _examine(row, before)
            sound = not faults
            problems.extend(faults)
        events, last = events + 1, (row.seq, row.seal)
        if seal is not None and sound and seal.matches(Head(row.seq, row.seal)):
            found_at = row.seq
        if progress is not None and events % _TELL_EVERY == 0:
            progress(events)
    problems.extend(_damaged_attachments(store))
    problems.extend(Problem(None, f"File: {fault}.") for fault in store.faults())
    return Check(events, Head(*last), tuple(problems), tuple(notes), seal is not None, found_at)


class _Before(NamedTuple):
    """The event before: its number and its seal, None when that could not be read."""

    seq: int
    seal: str | None


def _clock_set_back(seq: int, recorded_at: str, earlier: str) -> Problem:
    what = (
        f"Event {seq} was recorded at {recorded_at}, event {seq - 1} at {earlier}: the clock was "
        "set back between them. Their order is that of their numbers."
    )
    return Problem(seq, what)


def _rows(store: Store, seq: int) -> Iterator[StoredEvent | Problem]:
    """Yield the later rows in order, a problem for each that cannot be read; read on past it."""
    unreadable = 0
    while True:
        try:
            for row in store.stored(seq):
                yield row
                seq, unreadable = max(seq + 1, row.seq), 0
        except Damaged as error:
            seq, unreadable = seq + 1, unreadable + 1
            yield Problem(seq, f"Event {seq} cannot be read. {error.what}")
            if seq >= _last_number(store):
                return
            if unreadable >= _UNREADABLE_AT_MOST:
                yield Problem(None, f"Nothing can be read after event {seq}.")
                return
        else:
            return


def _last_number(store: Store) -> int:
    try:
        return store.head().seq
    except Damaged:
        return 0


def _examine(row: StoredEvent, before: _Before) -> tuple[list[Problem], _Before]:
    """Compare a row with its own bytes and with the event before."""
    problems = []
    if row.seq > before.seq + 1:
        first, last = before.seq + 1, row.seq - 1
        gap = f"Event {first} is" if first == last else f"Events {first} to {last} are"
        problems.append(Problem(first, f"{gap} missing."))
    sealed = recomputed_seal(row)
    event, faults = _decoded(row)
    if row.algorithm != chain.ALGORITHM:
        faults.append(f"“{row.algorithm}” is no way of sealing that this program knows")
    if sealed != row.seal:
        faults.append("its bytes do not give its seal")
    if row.seq <= before.seq:
        faults.append(f"it stands after event {before.seq}")
    elif not problems and before.seal not in (None, row.previous):
        if sealed == row.seal and before.seq > 0:
            # this event is as it was sealed, so what it was sealed onto is what has changed
            what = f"Event {before.seq}: event {row.seq} was sealed onto another than this."
            problems.append(Problem(before.seq, what))
        else:
            faults.append("it is not sealed onto the event before")
    problems.extend(Problem(row.seq, f"Event {row.seq}: {fault}.") for fault in faults)
    # the number in the bytes is the better one, as long as the seal vouches for them
    number = event.seq if event is not None and sealed == row.seal else row.seq
    return problems, _Before(number, row.seal)


def _decoded(row: StoredEvent) -> tuple[Event | None, list[str]]:
    try:
        event = Event.from_canonical(row.canonical, row.seal)
    except Damaged as error:
        return None, [error.what.rstrip(".")]
    if (event.seq, event.key, event.subject) != (row.seq, row.key, row.subject):
        return event, ["its number, key or subject is not that in its bytes"]
    return event, []


def _damaged_attachments(store: Store) -> list[Problem]:
    problems = []
    try:
        for sha256 in store.attachments():
            try:
                store.attachment(sha256)
            except Damaged as error:
                problems.append(Problem(None, f"Document {sha256}: {error.what}"))
    except Damaged as error:
        problems.append(Problem(None, f"The documents cannot be listed. {error.what}"))
    return problems
