"""Read a moment as typed: ISO 8601 with its offset."""

from datetime import datetime

from closedcup.errors import InputError


def read_moment(text: str) -> datetime:
    """Read “2026-03-02T07:15:00+01:00”; InputError without an offset, which is never guessed."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise InputError(
            "moment-unreadable",
            f"“{text}” is not a moment with its offset.",
            where="time",
            fix="Write it like 2026-03-02T07:15:00+01:00.",
        )
    return moment
