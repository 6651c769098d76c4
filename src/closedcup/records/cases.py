"""The laboratory's samples, each folded from its own events when somebody asks for it.

A laboratory keeps its samples for years: what is common to all is folded at once, and a case, one
sample with everything made of it, only when it is looked at. Which events make a case the
projections tell; what came after them is read into memory and added here.
"""

from collections import OrderedDict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, Final

from closedcup.errors import ClosedcupError, Damaged
from closedcup.records.belonging import (
    BENCH_EVENTS,
    Noun,
    about_of,
    is_first,
    noun_of,
    parent_of,
)
from closedcup.records.case_shelf import CASE_SHELVES
from closedcup.records.events import Event
from closedcup.records.folding import apply, fold
from closedcup.records.ledger import Ledger
from closedcup.records.projections import CaseSubject, SampleQuery, SampleRow
from closedcup.records.standing import retention_end, searched_words, standing_of_sample
from closedcup.records.store import Store

# Cases kept folded: some days' work of a large laboratory, a few megabytes
_KEPT: Final = 500
# Of how many things it is remembered to which sample they belong
_KNOWN: Final = 20_000


class Cases:
    """The samples of a laboratory; `common` is its state without them.

    Tell it every event after `reach` in order (`take`), whether it belongs to a sample or not.
    """

    def __init__(self, store: Store, common: Ledger) -> None:
        self._common = common
        self._projections = store.projections
        self._folded: OrderedDict[str, Ledger] = OrderedDict()
        self._later: dict[tuple[Noun, str], CaseSubject] = {}
        self._later_of: dict[str, list[tuple[Noun, str]]] = {}
        self._known: dict[tuple[Noun, str], CaseSubject] = {}
        self._later_common: list[int] = []
        self._touched: dict[str, int] = {}
        self.reach = self._projections.reach()
        """The last event that the projections know."""

    def common_events(self) -> Iterator[Event]:
        """Yield the events up to `reach` that belong to no sample."""
        return self._projections.common() if self.reach else iter(())

    def take(self, event: Event) -> bool:
        """Add an event; False when it belongs to no sample and so changes the common state."""
        noun = noun_of(event)
        if noun is None:
            self._later_common.append(event.seq)
            return False
        sample = self._sample_of_event(event, noun)
        if is_first(event):
            key = (noun, event.subject)
            if key not in self._later:
                self._later[key] = self._first(event, noun, sample)
                self._later_of.setdefault(sample, []).append(key)
            if noun == "sample":
                self._keep(sample, self._empty_case())
        if event.type not in BENCH_EVENTS and noun != "outside result":
            self._touched[sample] = event.seq
        case = self._folded.get(sample)
        if case is not None and event.seq > case.seq:
            apply(case, event)
        return True

    def _sample_of_event(self, event: Event, noun: Noun) -> str:
        parent = parent_of(event) if is_first(event) else (noun, event.subject)
        if parent is None:
            return event.subject
        found = self.subject(*parent)
        if found is None:
            raise Damaged(
                "event-without-sample",
                f"Event {event.seq}, {event.type}, is about {event.subject}, which belongs to no "
                "sample on record.",
                fix="Run closedcup check-records.",
            )
        return found.sample

    def _first(self, event: Event, noun: Noun, sample: str) -> CaseSubject:
        about = about_of(event)
        if noun == "result":
            series = self.subject("series", str(event.body["series"]))
            about = "" if series is None else series.about
        observed = in_utc(event.observed_at)
        return CaseSubject(noun, event.subject, sample, event.seq, observed, about)

    def subject(self, noun: Noun, identifier: str) -> CaseSubject | None:
        """Return to which sample something belongs; None when it is not on record."""
        key = (noun, identifier)
        found = self._later.get(key) or self._known.get(key)
        if found is None and self.reach:
            found = self._projections.subject(noun, identifier)
            self._remember(() if found is None else (found,))
        return found

    def _remember(self, subjects: Iterable[CaseSubject]) -> None:
        """Keep where things belong: that never changes once it is on record."""
        if len(self._known) > _KNOWN:
            self._known.clear()
        self._known.update({(each.noun, each.id): each for each in subjects})

    def holding(self, noun: Noun, identifier: str) -> Ledger:
        """Return the case that something belongs to, folded; an empty one when it is not known."""
        found = self.subject(noun, identifier)
        return self._empty_case() if found is None else self._case(found.sample)

    def _case(self, sample: str) -> Ledger:
        if sample in self._folded:
            self._folded.move_to_end(sample)
            return self._folded[sample]
        case = fold(self.events_of(sample), self._empty_case())
        self._keep(sample, case)
        return case

    def _keep(self, sample: str, case: Ledger) -> None:
        self._folded[sample] = case
        # what was touched is wanted again soon, for its line
        while len(self._folded) > _KEPT + len(self._touched):
            self._folded.popitem(last=False)

    def _empty_case(self) -> Ledger:
        """Return the common state, shared and kept up to date, with empty shelves of samples."""
        shelves: dict[str, Any] = {name: {} for name in CASE_SHELVES}
        return replace(self._common, seq=0, cases=None, **shelves)

    def events_of(self, sample: str) -> list[Event]:
        """Return the events of a sample and of everything made of it, in order."""
        before = self._projections.subjects_of(sample) if self.reach else []
        self._remember(before)
        made = [(each.noun, each.id) for each in before] + self._later_of.get(sample, [])
        known: set[tuple[Noun | None, str]] = set(made)
        return [
            event
            for event in self._projections.about([identifier for _, identifier in made])
            if (noun_of(event), event.subject) in known and event.seq <= self._common.seq
        ]

    def ids(self, noun: Noun) -> list[str]:
        """Return the ids of all things of a kind, in the order in which they came."""
        before = self._projections.ids(noun) if self.reach else []
        return before + [each.id for each in self._later.values() if each.noun == noun]

    def count(self, noun: Noun) -> int:
        """Return how many things of a kind are on record."""
        before = self._projections.count(noun) if self.reach else 0
        return before + sum(each.noun == noun for each in self._later.values())

    def made_of(self, samples: Collection[str]) -> dict[str, list[CaseSubject]]:
        """Return, by sample, the series and results made of some samples."""
        later = [self._later[key] for each in samples for key in self._later_of.get(each, ())]
        made = self._projections.made_of(sorted(samples)) if self.reach else []
        found: dict[str, list[CaseSubject]] = {}
        for each in made + [each for each in later if each.noun in ("series", "result")]:
            found.setdefault(each.sample, []).append(each)
        return found

    def ids_about(self, noun: Noun, about: str) -> list[str]:
        """Return the things of a kind that are about something, in order."""
        before = self._projections.ids_about(noun, about) if self.reach else []
        later = (each for each in self._later.values() if each.noun == noun)
        return before + [each.id for each in later if each.about == about]

    def last(self, noun: Noun) -> str | None:
        """Return the id of the last thing of a kind; None when there is none."""
        later = [each.id for each in self._later.values() if each.noun == noun]
        if later or not self.reach:
            return later[-1] if later else None
        return self._projections.last(noun)

    def results(self, apparatus: str | None, since: str | None) -> list[str]:
        """Return the results issued since a moment, on one apparatus or on any, in order."""
        since_utc = "" if since is None else in_utc(since)
        before = self._projections.results(apparatus, since_utc) if self.reach else []
        return before + [
            each.id
            for each in self._later.values()
            if each.noun == "result"
            and each.observed_utc >= since_utc
            and apparatus in (None, each.about)
        ]

    def rows(self, query: SampleQuery) -> list[SampleRow]:
        """Return the wanted lines of the list of samples, the newest first."""
        before_seq = self._common.seq + 1
        if query.before is not None and (found := self.subject("sample", query.before)) is not None:
            before_seq = found.seq
        now = [row for row in map(self._row, self._touched) if row.seq < before_seq]
        rows = [row for row in now if query.wants(row)]
        if self.reach:
            rows += self._projections.rows(query, before_seq=before_seq, but=self._touched)
        return sorted(rows, key=lambda row: -row.seq)[: query.limit]

    def _row(self, sample: str) -> SampleRow:
        case, received = self._case(sample), self.subject("sample", sample)
        assert received is not None, "a sample that was touched was received"  # noqa: S101
        standing = standing_of_sample(case, case.samples[sample])
        taken_in = case.samples[sample]
        kept = retention_end(case, taken_in)
        return SampleRow(
            sample,
            received.seq,
            *standing,
            taken_in.description,
            taken_in.customer,
            taken_in.received_at,
            taken_in.priority,
            taken_in.due,
            "" if kept is None else kept.isoformat(),
            f"{searched_words(case, sample)} {standing.state}",
        )

    def bring_up_to_date(self) -> None:
        """Let the projections reach as far as the events were told, unless another did it.

        Where that cannot be written now, what is later stays in memory and nothing is lost.
        """
        self._know_up_to(self._projections.reach())
        if self.reach >= self._common.seq:
            return
        try:
            self._projections.extend(
                self.reach,
                self._common.seq,
                subjects=self._later.values(),
                common=self._later_common,
                rows=[self._row(sample) for sample in sorted(self._touched)],
            )
        except ClosedcupError:
            return
        self._know_up_to(self._common.seq)

    def _know_up_to(self, reach: int) -> None:
        """Rely on the projections up to an event, as far as this follower has come."""
        if not self.reach <= reach <= self._common.seq:
            return
        self.reach = reach
        self._later = {key: each for key, each in self._later.items() if each.seq > reach}
        self._later_of = {}
        for key, each in self._later.items():
            self._later_of.setdefault(each.sample, []).append(key)
        self._later_common = [seq for seq in self._later_common if seq > reach]
        self._touched = {sample: seq for sample, seq in self._touched.items() if seq > reach}


def in_utc(moment: str) -> str:
    """Return an ISO 8601 moment in UTC to the second, which sorts as text."""
    return datetime.fromisoformat(moment).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S")
