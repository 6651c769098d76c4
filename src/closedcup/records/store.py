"""The port: everything the rest of the program may ask of a place that keeps records.

An engine (SQLite now) implements `Store`; nothing above this folder knows which one it has.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, Protocol, Self

from closedcup.errors import ClosedcupError
from closedcup.records.access import Access
from closedcup.records.chain import Head
from closedcup.records.events import Event, NewEvent
from closedcup.records.projections import Projections


class UnknownOutcome(ClosedcupError):
    """The engine gave no answer to a commit: the entry may or may not be recorded.

    Nothing is lost by asking again: `settle(key)` tells, and the same entry with the same key is
    recorded once however often it is sent.
    """

    exit_status = 3

    def __init__(self, cause: str, *, where: str) -> None:
        super().__init__(
            "outcome-unknown",
            f"Whether the entry was recorded is not known ({cause}).",
            where=where,
            fix="Send the same entry again, with the same key: it is recorded once at most.",
        )


class StoredEvent(NamedTuple):
    """One row as it lies in the store, unjudged: what `verify` reads.

    A tuple, since a check makes a million of them.
    """

    seq: int
    key: str
    subject: str
    algorithm: str
    previous: str
    seal: str
    canonical: bytes


@dataclass(frozen=True, slots=True)
class Attachment:
    """A document as issued, named by the hash of its content."""

    sha256: str
    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Durability:
    """How an engine makes sure that what it acknowledged survives a crash."""

    engine: str
    journal: str
    synchronous: str
    because: str


class Store(Protocol):
    """A laboratory's records: events appended and read in order, never changed.

    Writing raises Conflict where another entry stands in the way or another program keeps the
    store busy, InputError where the place cannot be written, Damaged where it is not what it
    claims to be, UnknownOutcome where a commit got no answer. A failed write leaves nothing behind.
    """

    @property
    def place(self) -> str:
        """Where the records are, in words fit for a message."""
        ...

    def append(self, new: NewEvent, *, recorded_at: str, seen_seq: int | None = None) -> Event:
        """Record one event; see `append_all`."""
        ...

    def append_all(
        self, news: Sequence[NewEvent], *, recorded_at: str, seen_seq: int | None = None
    ) -> list[Event]:
        """Record events together or not at all, in this order; return them as recorded.

        Asked again with the same keys and the same content, returns what was recorded then; the
        same key with other content is a Conflict. `seen_seq` is the last number the client had
        read when it decided: an event recorded since on one of the same subjects is a Conflict.
        """
        ...

    def append_many(
        self, news: Sequence[NewEvent], *, recorded_at: str, seen_seq: int | None = None
    ) -> int:
        """Record events as `append_all` does; return only how many, for a long list."""
        ...

    def settle(self, key: str) -> Event | None:
        """Return what became of an entry: the event, or None when it is not recorded.

        Waits for writers under way, so the answer holds for every attempt made before.
        """
        ...

    def read(self, after_seq: int = 0, *, subject: str | None = None) -> Iterator[Event]:
        """Yield events in order of recording, each checked against its own seal.

        An event of an older shape comes in today's (`records.upcasts`).
        Raises Damaged at the first that does not match. Appending while reading is allowed.
        """
        ...

    def head(self) -> Head:
        """Return the last event's number and seal."""
        ...

    @property
    def projections(self) -> Projections:
        """Return the projections of the events: derived, and made again when dropped."""
        ...

    @property
    def access(self) -> Access:
        """Return passwords' hashes and sessions: like names, outside the chain."""
        ...

    def adopt(
        self,
        rows: Iterable[StoredEvent],
        documents: Iterable[Attachment],
        names: Mapping[str, str],
        *,
        ends_at: Callable[[], Head],
    ) -> None:
        """Fill empty records with another store's, byte for byte, together or not at all.

        Raises Conflict when something is recorded here, or when the last event is not the one
        that `ends_at` names just before the commit; Damaged at a row that does not follow.
        """
        ...

    def attach(self, name: str, content: bytes) -> str:
        """Keep a document for good; return its SHA-256. The same content is kept once."""
        ...

    def attachment(self, sha256: str) -> Attachment:
        """Return a document as issued; Damaged when its content is no longer that of its hash."""
        ...

    def attachments(self) -> list[str]:
        """Return the hashes of all documents, sorted."""
        ...

    def names(self) -> dict[str, str]:
        """Return person id → name. Names live outside the chain so that they can be erased."""
        ...

    def set_name(self, person: str, name: str) -> None:
        """Give a person a name, or another one."""
        ...

    def erase_name(self, person: str) -> None:
        """Erase a person's name; the id in the events stays."""
        ...

    def stored(self, after_seq: int = 0) -> Iterator[StoredEvent]:
        """Yield rows as they lie there, in order; raise Damaged where one cannot be read."""
        ...

    def faults(self) -> list[str]:
        """Return what the engine's own check of its structures complains about."""
        ...

    def durability(self) -> Durability:
        """Return how commits are made safe, for the status page."""
        ...

    def close(self) -> None:
        """Let go of the store."""
        ...

    def __enter__(self) -> Self: ...

    def __exit__(self, *_: object) -> None: ...
