"""Who may do what: one table of rights by roles, `data/rights.csv`.

A right is named as the kind of event that it lets a person record; a few (`records-read`,
`accounts-read`, `sign-…`) let a person see or sign.
"""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from closedcup.errors import Damaged
from closedcup.laboratory.people import ROLES


@dataclass(frozen=True, slots=True)
class Right:
    """What may be done, in words, and the roles that may."""

    name: str
    what: str
    roles: frozenset[str]


@cache
def rights() -> dict[str, Right]:
    """Return every right by its name, in the order of the table.

    Raises Damaged where one stands there twice.
    """
    file = files("closedcup.laboratory") / "data" / "rights.csv"
    lines = file.read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    if len({row["right"] for row in rows}) < len(rows):
        raise Damaged("right-twice", "A right stands in the table twice.", where=file.name)
    return {row["right"]: _right(row) for row in rows}


def _right(row: dict[str, str]) -> Right:
    marks = {row[role] for role in ROLES}
    if not row["what"] or not marks <= {"x", ""}:
        raise Damaged("right-unclear", f"A right is marked by x only: {row}.", where="rights.csv")
    allowed = frozenset(role for role in ROLES if row[role] == "x")
    return Right(row["right"], row["what"], allowed)


def permitted(roles: Iterable[str], right: str) -> bool:
    """Say whether one of the roles has a right; nobody has one that the table does not hold."""
    known = rights().get(right)
    return known is not None and not known.roles.isdisjoint(roles)


def roles_with(right: str) -> tuple[str, ...]:
    """Return the roles that have a right, in their usual order."""
    known = rights().get(right)
    return () if known is None else tuple(role for role in ROLES if role in known.roles)
