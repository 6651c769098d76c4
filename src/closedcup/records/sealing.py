"""Rows of events: new ones sealed onto the last, or old ones that were sealed elsewhere."""

from collections.abc import Sequence
from typing import Any

from closedcup.errors import Damaged
from closedcup.records import chain
from closedcup.records.chain import Head
from closedcup.records.events import Event, NewEvent, Outline, canonical_event, outline
from closedcup.records.store import StoredEvent


def is_as_sealed(row: StoredEvent, read: Outline, head: tuple[int, str | None]) -> bool:
    """Whether a row is what was sealed, onto this head (number and seal), with true columns.

    The seal vouches for the body, so it need not be read.
    """
    return (
        (row.seq - 1, row.previous) == head
        and row.algorithm == chain.ALGORITHM
        and (read.seq, read.key, read.subject) == (row.seq, row.key, row.subject)
        and recomputed_seal(row) == row.seal
    )


def recomputed_seal(row: StoredEvent) -> str:
    """Return the seal that a row's bytes give; empty when what it was sealed onto is no seal."""
    try:
        return chain.seal(row.previous, row.canonical)
    except ValueError:
        return ""


def following(row: StoredEvent, head: Head, place: str) -> Head:
    """Return the head after a row that was sealed elsewhere; Damaged unless it follows."""
    read = outline(row.canonical) or _whole_outline(row)
    if not is_as_sealed(row, read, (head.seq, head.seal)):
        raise Damaged(
            "event-damaged",
            f"Event {row.seq} of the original is not what was recorded; nothing was copied.",
            where=place,
            fix="Run closedcup check-records on the original, then restore a backup.",
        )
    return Head(row.seq, row.seal)


def _whole_outline(row: StoredEvent) -> Outline:
    event = Event.from_canonical(row.canonical, row.seal)
    return Outline(event.seq, event.key, event.subject, event.recorded_at)


def chained(head: Head, news: Sequence[NewEvent], recorded_at: str) -> list[dict[str, Any]]:
    """Seal new events one onto the other, the first onto the head; return their rows."""
    rows = []
    for new in news:
        canonical = canonical_event(new, seq=head.seq + 1, recorded_at=recorded_at)
        sealed = chain.seal(head.seal, canonical)
        rows.append(
            {
                "seq": head.seq + 1,
                "key": new.key,
                "subject": new.subject,
                "algorithm": chain.ALGORITHM,
                "previous": head.seal,
                "seal": sealed,
                "canonical": canonical,
            }
        )
        head = Head(head.seq + 1, sealed)
    return rows
