"""Which events belong to one sample, and which to the laboratory as a whole.

An event of a kind named here tells of a sample or of what was made of it (a test, a series, a
result, a report), so it is needed only where that sample is. Every other kind is common.
"""

from dataclasses import dataclass
from typing import Final, Literal

from closedcup.records.events import Event

Noun = Literal["sample", "test", "series", "result", "report", "outside result"]


@dataclass(frozen=True, slots=True)
class _First:
    """The first event on a subject: what it is, and what it is made of, if anything."""

    noun: Noun
    parent: Noun | None = None


_FIRST: Final = {
    "sample-received": _First("sample"),
    "test-requested": _First("test", "sample"),
    "series-begun": _First("series", "test"),
    "result-issued": _First("result", "test"),
    "report-issued": _First("report", "result"),
    "outside-result-recorded": _First("outside result"),
}
_LATER: Final[dict[str, Noun]] = {
    "evidence-recorded": "sample",
    "composition-recorded": "sample",
    "sample-chilling-noted": "sample",
    "sample-handed-over": "sample",
    "sample-opened": "sample",
    "sample-volume-noted": "sample",
    "sample-keeping-agreed": "sample",
    "sample-condition-questioned": "sample",
    "go-ahead-recorded": "sample",
    "out-of-specification-told": "sample",
    "sample-disposed": "sample",
    "plan-made": "test",
    "hazards-reviewed": "test",
    "cup-set": "series",
    "specimen-loaded": "series",
    "cup-recovered": "series",
    "ramp-started": "series",
    "rate-checked": "series",
    "igniter-applied": "series",
    "entry-withdrawn": "series",
    "deviation-noted": "series",
    "series-ended": "series",
    "result-released": "result",
    "result-signed": "result",
    "result-held": "result",
    "result-classified": "result",
    "file-kept": "result",
    "result-superseded": "result",
    "result-let-stand": "result",
}
BENCH_EVENTS: Final = frozenset(kind for kind, noun in _LATER.items() if noun == "series")
"""What happens between the beginning of a series and its result."""


def noun_of(event: Event) -> Noun | None:
    """Return what an event's subject is; None for a common event."""
    first = _FIRST.get(event.type)
    return first.noun if first is not None else _LATER.get(event.type)


def parent_of(event: Event) -> tuple[Noun, str] | None:
    """Return what the subject of a first event was made of; None where it begins a case."""
    first = _FIRST.get(event.type)
    if first is None or first.parent is None:
        return None
    return first.parent, str(event.body.get(first.parent, ""))


def about_of(event: Event) -> str:
    """Return what else a first event is found by: an apparatus, an outside result's sample."""
    return str(event.body.get("sample" if noun_of(event) == "outside result" else "apparatus", ""))


def is_first(event: Event) -> bool:
    """Whether an event brings a new sample, test, series, result or report."""
    return event.type in _FIRST
