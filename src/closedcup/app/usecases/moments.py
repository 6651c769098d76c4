"""Read a moment or a day as typed: ISO 8601, a moment with its offset."""

from datetime import date, datetime

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


def read_day(text: str, where: str = "day") -> date:
    """Read “2026-03-02”; InputError for anything else."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(
            "date-unreadable", f"“{text}” is not a date.", where=where, fix="Write 2026-03-02."
        ) from None
