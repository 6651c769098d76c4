"""Find what is on record by its id, and refuse an id that is taken."""

from collections.abc import Mapping
from difflib import get_close_matches
from typing import TypeVar

from closedcup.errors import InputError

T = TypeVar("T")


def find(shelf: Mapping[str, T], wanted: str, what: str) -> T:
    """Return the thing with an id; InputError with the nearest ids when there is none."""
    if wanted in shelf:
        return shelf[wanted]
    near = get_close_matches(wanted, list(shelf), n=3, cutoff=0.4)
    raise InputError(
        f"{what.replace(' ', '-')}-unknown",
        f"There is no {what} “{wanted}”.",
        where=what,
        fix=f"Did you mean {' or '.join(near)}?" if near else f"On record: {_few(shelf)}.",
    )


def refuse_taken(shelf: Mapping[str, object], wanted: str, what: str) -> None:
    """Raise InputError when an id is already in use: entries are added, never overwritten."""
    if wanted in shelf:
        raise InputError(
            f"{what.replace(' ', '-')}-exists",
            f"There already is a {what} “{wanted}”.",
            where=what,
            fix="Choose another id; what is on record is not overwritten.",
        )


def _few(shelf: Mapping[str, object], most: int = 6) -> str:
    ids = list(shelf)
    return ", ".join(ids[:most]) + (" …" if len(ids) > most else "") if ids else "none"
