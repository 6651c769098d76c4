"""The people of a laboratory: an id and roles; names live outside the records' chain."""

from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError

ROLES: Final = ("analyst", "reviewer", "quality lead", "specialist", "reader")
QUALITY_LEAD: Final = "quality lead"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who does or checks something, known to the records by an id only.

    role: the one registered with; others are given and taken by entries of their own.
    """

    id: str
    role: str


@dataclass(frozen=True, slots=True)
class RoleChange:
    """A role given to a person, or taken."""

    person: str
    role: str


@dataclass(frozen=True, slots=True)
class AccountChange:
    """An account made, disabled, enabled again, or given another password; never deleted.

    recovered: done at the console by whoever holds the records themselves, signed in or not.
    """

    person: str
    recovered: bool = False


def parse_role(text: str) -> str:
    """Return a role by its name; InputError for another word."""
    role = text.strip()
    if role not in ROLES:
        raise InputError(
            "role-unknown",
            f"“{role}” is not a role here.",
            where="role",
            fix=f"Use one of: {', '.join(ROLES)}.",
        )
    return role
