"""Projections of the events: what belongs to which sample, and a line for each sample.

They hold nothing that the events do not say. They may lag behind: whoever reads them knows up to
which event they reach and adds what came later. Dropped, they are made again.
"""

import hashlib
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Final, NamedTuple, Protocol

from sqlalchemy import ColumnElement, Connection, delete, func, insert, inspect, select, update

from closedcup.errors import Conflict
from closedcup.records.belonging import Noun
from closedcup.records.events import Event
from closedcup.records.tables import (
    PROJECTION_VERSION,
    case_subjects,
    common_events,
    events,
    projected,
    projections,
    sample_rows,
)

# Ids asked for in one statement, well below every engine's limit of parameters
_IDS: Final = 500


class CaseSubject(NamedTuple):
    """A sample, or what was made of it, with the event that brought it.

    observed_utc: when, as 2026-03-02T08:15:07; about: the apparatus of a series or a result, the
    sample that an outside result is said to be of, else empty.
    """

    noun: Noun
    id: str
    sample: str
    seq: int
    observed_utc: str
    about: str = ""


class SampleRow(NamedTuple):
    """A line of the list of samples: state and next step as its own events tell."""

    sample: str
    seq: int
    state: str
    next: str
    description: str
    customer: str
    received_at: str
    priority: str
    due: str
    kept_until: str
    words: str


@dataclass(frozen=True, slots=True)
class SampleQuery:
    """Which lines are wanted, the newest first.

    words: each occurs in the line's words; states: one of these, any when empty; before: a
    sample, only those received before it are wanted; limit: so many at most, None for all.
    due_before: a day, only those due before it; urgent: only those; kept_before: a day, only
    those whose retention ended before it.
    """

    words: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    before: str | None = None
    limit: int | None = None
    due_before: str = ""
    urgent: bool = False
    kept_before: str = ""

    def wants(self, row: SampleRow) -> bool:
        """Whether a line is wanted, by words, state, due day, priority and retention."""
        return (
            all(word in row.words for word in self.words)
            and (not self.states or row.state in self.states)
            and (not self.due_before or "" < row.due < self.due_before)
            and (not self.urgent or row.priority == "urgent")
            and (not self.kept_before or "" < row.kept_until < self.kept_before)
        )


class _Tables(Protocol):
    """What projections need of the store whose events they project."""

    @property
    def place(self) -> str: ...
    def reading(self) -> AbstractContextManager[Connection]: ...
    def writing(self) -> AbstractContextManager[Connection]: ...
    def read_where(self, *conditions: ColumnElement[bool]) -> Iterator[Event]: ...


class Projections:
    """The projections in the same database as the events."""

    def __init__(self, store: _Tables) -> None:
        self._store = store

    def reach(self) -> int:
        """Return the number of the last event that they know; 0 where there are none."""
        with self._store.reading() as connection:
            return _reach(connection)

    def extend(
        self,
        after_seq: int,
        to_seq: int,
        *,
        subjects: Iterable[CaseSubject],
        common: Iterable[int],
        rows: Iterable[SampleRow],
    ) -> None:
        """Add what events after `after_seq` up to `to_seq` say; Conflict if another did already."""
        with self._store.writing() as connection:
            if _reach(connection) != after_seq:
                raise Conflict(
                    "projected-meanwhile",
                    "Another program brought the index up to date meanwhile.",
                    where=self._store.place,
                    fix="Nothing needs doing.",
                )
            if after_seq == 0:
                projections.drop_all(connection)
                projections.create_all(connection)
                connection.execute(insert(projected), {"version": PROJECTION_VERSION, "seq": 0})
            if added := [each._asdict() for each in subjects]:
                connection.execute(insert(case_subjects), added)
            if numbers := [{"seq": seq} for seq in common]:
                connection.execute(insert(common_events), numbers)
            lines = [row._asdict() for row in rows]
            for some in _portions([line["sample"] for line in lines]):
                connection.execute(delete(sample_rows).where(sample_rows.c.sample.in_(some)))
            if lines:
                connection.execute(insert(sample_rows), lines)
            connection.execute(update(projected).values(seq=to_seq))

    def drop(self) -> None:
        """Drop them; the next who wants them makes them again."""
        with self._store.writing() as connection:
            projections.drop_all(connection)

    def fingerprint(self) -> str:
        """Return a hash of everything they hold."""
        held = hashlib.sha256()
        with self._store.reading() as connection:
            for table in (projected, case_subjects, common_events, sample_rows):
                ordered = select(table).order_by(*table.primary_key.columns)
                for row in connection.execution_options(yield_per=1000).execute(ordered):
                    held.update(repr(tuple(row)).encode())
        return held.hexdigest()

    def subject(self, noun: Noun, identifier: str) -> CaseSubject | None:
        """Return to which sample something belongs; None when it is not known."""
        known = select(case_subjects).where(
            case_subjects.c.noun == noun, case_subjects.c.id == identifier
        )
        with self._store.reading() as connection:
            row = connection.execute(known).first()
        return None if row is None else CaseSubject(*row)

    def subjects_of(self, sample: str) -> list[CaseSubject]:
        """Return everything that was made of a sample, and the sample itself."""
        made = select(case_subjects).where(case_subjects.c.sample == sample)
        with self._store.reading() as connection:
            return [CaseSubject(*row) for row in connection.execute(made)]

    def made_of(self, samples: Sequence[str]) -> list[CaseSubject]:
        """Return the series and results made of some samples."""
        made = select(case_subjects).where(case_subjects.c.noun.in_(("series", "result")))
        with self._store.reading() as connection:
            return [
                CaseSubject(*row)
                for some in _portions(samples)
                for row in connection.execute(made.where(case_subjects.c.sample.in_(some)))
            ]

    def ids(self, noun: Noun) -> list[str]:
        """Return the ids of all things of a kind, in the order in which they came."""
        listed = (select(case_subjects.c.id).where(case_subjects.c.noun == noun)).order_by(
            case_subjects.c.seq
        )
        with self._store.reading() as connection:
            return list(connection.execute(listed).scalars())

    def results(self, apparatus: str | None, since_utc: str) -> list[str]:
        """Return the results issued since a moment, on one apparatus or on any, in order."""
        asked = select(case_subjects.c.id).where(
            case_subjects.c.noun == "result", case_subjects.c.observed_utc >= since_utc
        )
        if apparatus is not None:
            asked = asked.where(case_subjects.c.about == apparatus)
        with self._store.reading() as connection:
            return list(connection.execute(asked.order_by(case_subjects.c.seq)).scalars())

    def ids_about(self, noun: Noun, about: str) -> list[str]:
        """Return the things of a kind that are about something, in order."""
        asked = select(case_subjects.c.id).where(
            case_subjects.c.noun == noun, case_subjects.c.about == about
        )
        with self._store.reading() as connection:
            return list(connection.execute(asked.order_by(case_subjects.c.seq)).scalars())

    def last(self, noun: Noun) -> str | None:
        """Return the id of the last thing of a kind."""
        listed = select(case_subjects.c.id).where(case_subjects.c.noun == noun)
        with self._store.reading() as connection:
            return connection.execute(listed.order_by(case_subjects.c.seq.desc())).scalar()

    def count(self, noun: Noun) -> int:
        """Return how many things of a kind there are."""
        counted = select(func.count()).where(case_subjects.c.noun == noun)
        with self._store.reading() as connection:
            return connection.execute(counted).scalar_one()

    def common(self) -> Iterator[Event]:
        """Yield the events that belong to no sample, in order."""
        return self._store.read_where(events.c.seq.in_(select(common_events.c.seq)))

    def about(self, subjects: Sequence[str]) -> list[Event]:
        """Return all events on some subjects, in order."""
        found = [
            event
            for some in _portions(sorted(subjects))
            for event in self._store.read_where(events.c.subject.in_(some))
        ]
        return sorted(found, key=lambda event: event.seq)

    def rows(self, query: SampleQuery, *, before_seq: int, but: Collection[str]) -> list[SampleRow]:
        """Return the wanted lines before an event, the newest first, without some samples."""
        asked = select(sample_rows).order_by(sample_rows.c.seq.desc())
        asked = asked.where(sample_rows.c.seq < before_seq, *_conditions(query))
        if query.limit is not None:
            asked = asked.limit(query.limit + len(but))
        with self._store.reading() as connection:
            found = [SampleRow(*row) for row in connection.execute(asked)]
        return [row for row in found if row.sample not in but][: query.limit]


def _conditions(query: SampleQuery) -> list[ColumnElement[bool]]:
    conditions = [sample_rows.c.words.contains(word, autoescape=True) for word in query.words]
    if query.states:
        conditions.append(sample_rows.c.state.in_(query.states))
    if query.due_before:
        conditions += [sample_rows.c.due != "", sample_rows.c.due < query.due_before]
    if query.urgent:
        conditions.append(sample_rows.c.priority == "urgent")
    if query.kept_before:
        kept = sample_rows.c.kept_until
        conditions += [kept != "", kept < query.kept_before]
    return conditions


def _reach(connection: Connection) -> int:
    """Return up to which event they reach; what another version made counts as nothing."""
    if not inspect(connection).has_table(projected.name):
        return 0
    known = select(projected.c.seq).where(projected.c.version == PROJECTION_VERSION)
    return connection.execute(known).scalar() or 0


def _portions(items: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(items), _IDS):
        yield items[start : start + _IDS]
