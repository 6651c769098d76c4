"""How each kind of event about the keeping of samples changes the ledger, and saved filters."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from closedcup.laboratory.chilling import SampleChilling
from closedcup.laboratory.sample_keeping import (
    ConditionQuestioned,
    GoAhead,
    HandedOver,
    KeepingAgreed,
    KeepingEntry,
    KeepingFact,
    OutOfSpecificationTold,
    SampleDisposed,
    SampleOpened,
    VolumeNoted,
)
from closedcup.records.encoding import from_body
from closedcup.records.events import Event
from closedcup.records.facts import SampleFilter
from closedcup.records.ledger import Ledger


def _log(ledger: Ledger, event: Event, kind: type[KeepingFact]) -> KeepingFact:
    fact = from_body(kind, event.body)
    entry = KeepingEntry(event.observed_at, event.by, event.seq, fact)
    ledger.keeping[event.subject] = (*ledger.keeping.get(event.subject, ()), entry)
    return fact


def _note(kind: type[KeepingFact]) -> Callable[[Ledger, Event], None]:
    def apply(ledger: Ledger, event: Event) -> None:
        _log(ledger, event, kind)

    return apply


def _open(ledger: Ledger, event: Event) -> None:
    """Log an opening; the temperature read at it is one of the sample's temperatures."""
    fact = _log(ledger, event, SampleOpened)
    if isinstance(fact, SampleOpened) and fact.temperature_c is not None:
        read = SampleChilling(event.subject, fact.temperature_c)
        earlier = ledger.chilling.get(event.subject, ())
        ledger.chilling[event.subject] = (*earlier, (event.observed_at, read))


def _agree(ledger: Ledger, event: Event) -> None:
    fact = _log(ledger, event, KeepingAgreed)
    if isinstance(fact, KeepingAgreed):
        ledger.samples[event.subject] = replace(
            ledger.samples[event.subject],
            priority=fact.priority,
            due=fact.due,
            keep_until=fact.keep_until,
            keep_days=fact.keep_days,
            kept_back_ml=fact.kept_back_ml,
        )


def _save_filter(ledger: Ledger, event: Event) -> None:
    saved = from_body(SampleFilter, event.body)
    if saved.dropped:
        ledger.sample_filters.pop(event.subject, None)
    else:
        ledger.sample_filters[event.subject] = saved


DESK_APPLIERS: Final[Mapping[str, Callable[[Ledger, Event], None]]] = {
    "sample-handed-over": _note(HandedOver),
    "sample-opened": _open,
    "sample-volume-noted": _note(VolumeNoted),
    "sample-keeping-agreed": _agree,
    "sample-condition-questioned": _note(ConditionQuestioned),
    "go-ahead-recorded": _note(GoAhead),
    "out-of-specification-told": _note(OutOfSpecificationTold),
    "sample-disposed": _note(SampleDisposed),
    "sample-filter-saved": _save_filter,
}
