"""Open a laboratory's records for one person: the only place that wires storage and the clock.

`CLOSEDCUP_DATABASE` names the records (an SQLAlchemy URL), else they are a file in the user's
data folder. `CLOSEDCUP_PERSON` names the person on whose behalf entries are made.
"""

import os
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Self
from uuid import uuid4

from closedcup import __version__
from closedcup.app.permission import CONSOLE_RIGHTS, refuse_unless_permitted
from closedcup.errors import InputError
from closedcup.laboratory import Site
from closedcup.methods import Confirmation
from closedcup.records import Event, NewEvent, Store, default_url, open_store
from closedcup.records.belonging import noun_of
from closedcup.records.encoding import to_body
from closedcup.records.following import Following
from closedcup.records.ledger import Ledger
from closedcup.records.projections import CaseSubject, SampleQuery, SampleRow

DATA_VERSION = "2026.11"
"""The version of the reference data that ships with this program."""

Clock = Callable[[], datetime]


def local_now() -> datetime:
    """Return the time now with the local offset, to the second."""
    return datetime.now().astimezone().replace(microsecond=0)


@dataclass(frozen=True, slots=True)
class Entered:
    """An entry to be recorded; see `OpenLaboratory.record`."""

    kind: str
    subject: str
    body: object
    key: str | None = None
    observed_at: datetime | None = None
    reason: str = ""


@dataclass(slots=True)
class OpenLaboratory:
    """A laboratory's records, opened for one person, with a clock.

    `state` is the fold of all events, kept up to date by folding only what is new; a sample is
    folded when it is looked at. Where the laboratory has accounts, `by` counts only when
    `signed_in`; what that person may do is asked at each look and each entry, here and nowhere
    else. `at_console`: whoever holds the records themselves gets an account back.
    """

    store: Store
    by: str
    clock: Clock = local_now
    signed_in: bool = False
    at_console: bool = False
    _following: Following | None = None

    @property
    def state(self) -> Ledger:
        """Return the laboratory as its records tell it now."""
        return self.permit("records-read")

    def permit(self, right: str) -> Ledger:
        """Return the laboratory now, for a person who has a right; Refused for any other.

        Where no account was ever made, everybody at this PC is trusted.
        """
        ledger = self._followed().ledger()
        if ledger.accounts and not (self.at_console and right in CONSOLE_RIGHTS):
            refuse_unless_permitted(ledger, self.by, right, signed_in=self.signed_in)
        return ledger

    @property
    def has_accounts(self) -> bool:
        """Whether people sign in here; no right is needed to know."""
        return bool(self._followed().ledger().accounts)

    @property
    def confirmations(self) -> Mapping[str, Mapping[str, Confirmation]]:
        """Return what is confirmed of the methods' numbers; no right is needed to calculate."""
        return self._followed().ledger().confirmations

    def may_sign_in(self, person: str) -> bool:
        """Whether a person has an account that is not disabled; no right is needed to know."""
        return self._followed().ledger().accounts.get(person, False)

    @property
    def named_site(self) -> Site | None:
        """Return whose records these are, as on the door: no right is needed to know."""
        return self._followed().ledger().site

    def sample_rows(self, query: SampleQuery) -> list[SampleRow]:
        """Return the wanted lines of the list of samples, the newest first."""
        self.permit("records-read")
        return self._followed().cases.rows(query)

    def made_of(self, samples: Collection[str]) -> dict[str, list[CaseSubject]]:
        """Return, by sample, the series and results made of some samples."""
        self.permit("records-read")
        return self._followed().cases.made_of(samples)

    def events_of(self, sample: str) -> list[Event]:
        """Return the events of a sample and of everything made of it, in order."""
        self.permit("records-read")
        return self._followed().cases.events_of(sample)

    def common_events(self) -> Iterator[Event]:
        """Yield the events that belong to no sample, in order."""
        self.permit("records-read")
        cases = self._followed().cases
        yield from cases.common_events()
        yield from (each for each in self.store.read(cases.reach) if noun_of(each) is None)

    def _followed(self) -> Following:
        if self._following is None:
            self._following = Following(self.store)
        return self._following

    def site(self) -> Site:
        """Return the laboratory's site; InputError when it has not been established."""
        site = self.state.site
        if site is None:
            raise InputError(
                "laboratory-not-established",
                "These records do not say yet which laboratory they belong to.",
                where=self.store.place,
                fix="Begin with: closedcup establish --name … --address … --altitude 250m, "
                "or look at a made-up one with: closedcup demo",
            )
        return site

    def record(
        self,
        kind: str,
        subject: str,
        body: object,
        *,
        key: str | None = None,
        observed_at: datetime | None = None,
        reason: str = "",
    ) -> Event:
        """Append one event and return it as recorded.

        `body` is a value of the laboratory or a ready mapping. `key` makes the entry safe to
        send twice; without one the entry is new. `observed_at` is when it was seen, now unless
        given. Refused when none of the person's roles may make such an entry.
        """
        entered = Entered(kind, subject, body, key=key, observed_at=observed_at, reason=reason)
        return self.record_all([entered])[0]

    def record_all(self, entries: Sequence[Entered]) -> list[Event]:
        """Append events together or not at all, as `record` does each; return them as recorded."""
        news, recorded_at, seen_seq = self._made_ready(entries)
        return self.store.append_all(news, recorded_at=recorded_at, seen_seq=seen_seq)

    def record_many(self, entries: Sequence[Entered]) -> int:
        """Append a long list of events together or not at all; return how many."""
        news, recorded_at, seen_seq = self._made_ready(entries)
        return self.store.append_many(news, recorded_at=recorded_at, seen_seq=seen_seq)

    def _made_ready(self, entries: Sequence[Entered]) -> tuple[list[NewEvent], str, int]:
        """Return entries that this person may make as events, the time, and what was seen."""
        seen_seq = 0 if self._following is None else self._following.seq
        for kind in sorted({entry.kind for entry in entries}):
            self.permit(kind)
        now = self.clock()
        recorded_at = now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        return [self._new_event(entry, now) for entry in entries], recorded_at, seen_seq

    def _new_event(self, entry: Entered, now: datetime) -> NewEvent:
        body = entry.body
        return NewEvent(
            key=entry.key or str(uuid4()),
            type=entry.kind,
            subject=entry.subject,
            observed_at=(entry.observed_at or now).isoformat(),
            by=self.by,
            reason=entry.reason,
            program=__version__,
            data=DATA_VERSION,
            body=body if isinstance(body, Mapping) else to_body(body),
        )

    def recorded(self, key: str | None) -> Event | None:
        """Return the entry with this key, if it is on record already."""
        return None if key is None else self.store.settle(key)

    def name_of(self, person: str) -> str:
        """Return a person's name, or the id where none is on record."""
        return self.store.names().get(person, person)

    def close(self) -> None:
        """Let go of the records."""
        self.store.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def address_of(url: str | None = None) -> str:
    """Return the address of the records: as given, else as set, else in the user's folder."""
    return url or os.environ.get("CLOSEDCUP_DATABASE") or default_url()


def open_laboratory(
    url: str | None = None, *, by: str | None = None, clock: Clock = local_now
) -> OpenLaboratory:
    """Open the records at a URL (else `CLOSEDCUP_DATABASE`, else the user's data folder)."""
    address = address_of(url)
    person = by or os.environ.get("CLOSEDCUP_PERSON") or "analyst"
    return OpenLaboratory(store=open_store(address), by=person, clock=clock)
