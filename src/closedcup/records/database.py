"""The port on any SQL engine: how events are appended and read.

What differs between engines (taking the turn to write, naming an error, checking structures) are
the five methods that an engine's file fills in.
"""

from abc import abstractmethod
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from itertools import islice
from typing import Any, ClassVar, Final, Self

from sqlalchemy import ColumnElement, Connection, Engine, Row, insert, select
from sqlalchemy.exc import DBAPIError

from closedcup.errors import ClosedcupError, Conflict, Damaged, InputError
from closedcup.records import chain
from closedcup.records.access import Access
from closedcup.records.chain import GENESIS, Head
from closedcup.records.documents import DocumentsAndNames
from closedcup.records.events import Event, NewEvent, require_utc
from closedcup.records.projections import Projections
from closedcup.records.sealing import chained, following
from closedcup.records.store import Attachment, Durability, StoredEvent, UnknownOutcome
from closedcup.records.tables import attachments, events, people_names
from closedcup.records.upcasts import upcast

# Rows fetched at once: no lock is held between two pages, so a slow reader stops no writer
_PAGE: Final = 1000
# What the columns of an event hold, in the order of the table
_COLUMN_TYPES: Final = (int, str, str, str, str, str, bytes)
# Keys asked for in one statement, well below every engine's limit of parameters
_KEYS: Final = 500


class DatabaseStore(DocumentsAndNames):
    """A `Store` in the tables of `records.tables`."""

    # What an engine raises: SQLAlchemy's wrapping, and what its driver lets through unwrapped
    engine_errors: ClassVar[tuple[type[Exception], ...]] = (DBAPIError,)

    def __init__(self, engine: Engine, place: str) -> None:
        self._engine = engine
        self._place = place

    @property
    def place(self) -> str:
        """Where the records are."""
        return self._place

    def append(self, new: NewEvent, *, recorded_at: str, seen_seq: int | None = None) -> Event:
        """Record one event; see `Store.append_all`."""
        return self.append_all([new], recorded_at=recorded_at, seen_seq=seen_seq)[0]

    def append_all(
        self, news: Sequence[NewEvent], *, recorded_at: str, seen_seq: int | None = None
    ) -> list[Event]:
        """Record events together or not at all; see `Store.append_all`."""
        before, rows = self._append(news, recorded_at, seen_seq)
        # made from the bytes: what we return is what anybody will read
        return before or [self._event(StoredEvent(**row)) for row in rows]

    def append_many(
        self, news: Sequence[NewEvent], *, recorded_at: str, seen_seq: int | None = None
    ) -> int:
        """Record many events together or not at all; see `Store.append_many`."""
        before, rows = self._append(news, recorded_at, seen_seq)
        return len(before or rows)

    def _append(
        self, news: Sequence[NewEvent], recorded_at: str, seen_seq: int | None
    ) -> tuple[list[Event], list[dict[str, Any]]]:
        """Return what these entries became before, or the rows that they are now."""
        require_utc(recorded_at)
        if len({new.key for new in news}) < len(news):
            raise InputError("key-repeated", "Two entries sent together have the same key.")
        with self.writing() as connection:
            before = self._recorded_before(connection, news)
            if before is not None:
                return before, []
            self._refuse_if_overtaken(connection, news, seen_seq)
            rows = chained(_head(connection), news, recorded_at)
            if rows:
                connection.execute(insert(events), rows)
        return [], rows

    def settle(self, key: str) -> Event | None:
        """Return what became of an entry; see `Store.settle`."""
        # the turn to write comes only after every writer before has ended
        with self.writing() as connection:
            return self._by_key(connection, [key]).get(key)

    def read(self, after_seq: int = 0, *, subject: str | None = None) -> Iterator[Event]:
        """Yield events in order, each checked against its seal; see `Store.read`."""
        conditions = [] if subject is None else [events.c.subject == subject]
        yield from self.read_where(*conditions, after_seq=after_seq)

    def read_where(self, *conditions: ColumnElement[bool], after_seq: int = 0) -> Iterator[Event]:
        """Yield the events of which conditions on the columns hold, as `read` does."""
        for row in self._rows(after_seq, *conditions):
            yield upcast(self._event(row))

    @property
    def projections(self) -> Projections:
        """Return the projections that lie beside the events."""
        return Projections(self)

    @property
    def access(self) -> Access:
        """Return passwords' hashes and sessions; see `Store.access`."""
        return Access(self)

    def head(self) -> Head:
        """Return the last event's number and seal."""
        with self.reading() as connection:
            return _head(connection)

    def adopt(
        self,
        rows: Iterable[StoredEvent],
        documents: Iterable[Attachment],
        names: Mapping[str, str],
        *,
        ends_at: Callable[[], Head],
    ) -> None:
        """Fill empty records with another store's; see `Store.adopt`."""
        with self.writing() as connection:
            self._refuse_unless_empty(connection)
            head, remaining = Head(0, GENESIS), iter(rows)
            while batch := list(islice(remaining, _PAGE)):
                for row in batch:
                    head = following(row, head, self.place)
                connection.execute(insert(events), [row._asdict() for row in batch])
            for each in documents:
                connection.execute(insert(attachments), asdict(each))
            if names:
                listed = [{"person": person, "name": name} for person, name in names.items()]
                connection.execute(insert(people_names), listed)
            last = ends_at()
            if head != last:
                raise Conflict(
                    "written-meanwhile",
                    f"The copy ends at event {head.seq}, the original now at event {last.seq}; "
                    "nothing was copied.",
                    where=self.place,
                    fix="Let nobody record anything meanwhile, then do it again.",
                )

    def stored(self, after_seq: int = 0) -> Iterator[StoredEvent]:
        """Yield rows as they lie there; see `Store.stored`."""
        return self._rows(after_seq)

    def close(self) -> None:
        """Let go of the store."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @abstractmethod
    def faults(self) -> list[str]:
        """Return what the engine's own check of its structures complains about."""

    @abstractmethod
    def durability(self) -> Durability:
        """Return how commits are made safe."""

    @abstractmethod
    def _take_turn(self, connection: Connection) -> None:
        """Begin to write: wait until no other writer is under way, and keep others waiting."""

    @abstractmethod
    def _explain(self, error: Exception) -> ClosedcupError:
        """Say one of `engine_errors` in words."""

    @abstractmethod
    def _surely_undone(self, error: Exception) -> bool:
        """Whether a commit that failed so has certainly recorded nothing."""

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Lend a connection to read with; what the engine complains of is said in words."""
        try:
            with self._engine.connect() as connection:
                yield connection
        except self.engine_errors as error:
            raise self._explain(error) from error

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Lend a connection whose turn it is to write; commit at the end, or nothing is done."""
        with self.reading() as connection:
            self._take_turn(connection)
            yield connection
            try:
                connection.commit()
            except self.engine_errors as error:
                # the connection may still be inside the transaction: closing it rolls that back
                connection.invalidate()
                explained = self._explain(error)
                if self._surely_undone(error):
                    raise explained from error
                raise UnknownOutcome(explained.what, where=self.place) from error

    def _rows(self, after_seq: int, *conditions: ColumnElement[bool]) -> Iterator[StoredEvent]:
        query = select(events).where(*conditions).order_by(events.c.seq)
        size = _PAGE
        while True:
            try:
                with self.reading() as connection:
                    page = query.where(events.c.seq > after_seq).limit(size)
                    rows = connection.execute(page).all()
            except Damaged:
                if size == 1:
                    raise
                size = 1  # go up to the unreadable row one by one
                continue
            if not rows:
                return
            yield from map(self._stored, rows)
            # a damaged file can hold any number here: always go on, never round
            after_seq = max(after_seq + 1, rows[-1].seq)

    def _stored(self, row: Row[Any]) -> StoredEvent:
        if tuple(map(type, row)) != _COLUMN_TYPES:
            raise Damaged(
                "event-unreadable",
                "A column holds another kind of value than was stored.",
                where=f"{self.place}, event {row.seq}",
            )
        return StoredEvent._make(row)

    def _event(self, row: StoredEvent) -> Event:
        if row.algorithm != chain.ALGORITHM or row.seal != chain.seal(row.previous, row.canonical):
            raise Damaged(
                "event-damaged",
                f"Event {row.seq} is no longer what was recorded.",
                where=self.place,
                fix="Run closedcup check-records, then restore a backup.",
            )
        return Event.from_canonical(row.canonical, row.seal)

    def _by_key(self, connection: Connection, keys: Sequence[str]) -> dict[str, Event]:
        found = {}
        for start in range(0, len(keys), _KEYS):
            asked = select(events).where(events.c.key.in_(keys[start : start + _KEYS]))
            for row in connection.execute(asked):
                found[row.key] = self._event(self._stored(row))
        return found

    def _recorded_before(
        self, connection: Connection, news: Sequence[NewEvent]
    ) -> list[Event] | None:
        """Return what these entries became when they were sent before; None when they were not."""
        found = self._by_key(connection, [new.key for new in news])
        if not found:
            return None
        for new in news:
            if new.key not in found or not new.asks_the_same(found[new.key]):
                taken = found.get(new.key) or next(iter(found.values()))
                raise Conflict(
                    "key-taken",
                    f"An entry was already recorded under this key, with other content: "
                    f"event {taken.seq}, {taken.type}, {taken.subject}.",
                    where=f"key {new.key}",
                    fix="Look at what was recorded; send a new entry if it is still needed.",
                )
        return [found[new.key] for new in news]

    def _refuse_unless_empty(self, connection: Connection) -> None:
        head = _head(connection)
        kept = connection.execute(select(attachments.c.sha256).limit(1)).first()
        named = connection.execute(select(people_names.c.person).limit(1)).first()
        if head.seq or kept or named:
            raise Conflict(
                "not-empty",
                f"Something is recorded here already, up to event {head.seq}; it stays as it is.",
                where=self.place,
                fix="Name a file that does not exist, or an empty database.",
            )

    def _refuse_if_overtaken(
        self, connection: Connection, news: Sequence[NewEvent], seen_seq: int | None
    ) -> None:
        if seen_seq is None:
            return
        subjects = sorted({new.subject for new in news})
        newer = select(events).where(events.c.seq > seen_seq).order_by(events.c.seq.desc()).limit(1)
        for start in range(0, len(subjects), _KEYS):
            asked = newer.where(events.c.subject.in_(subjects[start : start + _KEYS]))
            row = connection.execute(asked).first()
            if row is not None:
                later = self._event(self._stored(row))
                raise Conflict(
                    "overtaken",
                    f"Somebody recorded something on {later.subject} meanwhile: event {later.seq}, "
                    f"{later.type}, by {later.by}, at {later.recorded_at}.",
                    where=later.subject,
                    fix="Look at it, then enter yours again.",
                )


def _head(connection: Connection) -> Head:
    last = select(events.c.seq, events.c.seal).order_by(events.c.seq.desc()).limit(1)
    row = connection.execute(last).first()
    return Head(0, GENESIS) if row is None else Head(row.seq, row.seal)
