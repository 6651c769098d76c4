"""Old events in today's shape: read through conversions, never rewritten.

`version` counts the shapes of one kind's body. When a kind gets another shape, its writer says
the next version, and the step from the one before is added here: a pure function from an old body
to the next. Steps apply above the check of the seal; the stored bytes stay as they were sealed.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

from closedcup.errors import Damaged
from closedcup.records.events import Event

Body = Mapping[str, Any]
Step = Callable[[Body], Body]

# (kind, version) → the step to version + 1. No kind has changed its shape yet.
STEPS: Final[dict[tuple[str, int], Step]] = {}


def latest_version(kind: str, steps: Mapping[tuple[str, int], Step] = STEPS) -> int:
    """Return the version that events of this kind are written in and read as."""
    version = 1
    while (kind, version) in steps:
        version += 1
    return version


def upcast(event: Event, steps: Mapping[tuple[str, int], Step] = STEPS) -> Event:
    """Return an event in today's shape; its number, times, seal and everything else stay.

    Raises Damaged for a shape that only a newer program knows.
    """
    latest = latest_version(event.type, steps)
    if event.version == latest:
        return event
    if event.version > latest:
        raise Damaged(
            "event-newer",
            f"Event {event.seq} ({event.type}) has shape {event.version}; this program knows "
            f"shapes up to {latest}.",
            where=event.subject,
            fix="Update closedcup.",
        )
    body = event.body
    for version in range(event.version, latest):
        body = steps[event.type, version](body)
    return replace(event, version=latest, body=body)
