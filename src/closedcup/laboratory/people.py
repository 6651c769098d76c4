"""The people of a laboratory: an id and a role; names live outside the records' chain."""

from dataclasses import dataclass
from typing import Final

ROLES: Final = ("analyst", "reviewer", "quality lead", "specialist", "reader")


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who does or checks something, known to the records by an id only."""

    id: str
    role: str
