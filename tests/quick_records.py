"""Records and passwords that cost next to nothing, for tests that are about something else.

What they are worth is tried elsewhere: the disk in tests/records, the hash in one test of accounts.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from argon2 import PasswordHasher

from closedcup.app.usecases.people import passwords
from closedcup.records import sqlite


@contextmanager
def quick_records() -> Iterator[None]:
    """Hash with the least costs, and wait for no disk, for as long as this lasts."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    unsynced = tuple(
        "PRAGMA synchronous = OFF" if "synchronous" in pragma else pragma
        for pragma in sqlite._CONNECTION_PRAGMAS
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passwords, "hasher", lambda: quick)
        patch.setattr(sqlite, "_CONNECTION_PRAGMAS", unsynced)
        yield
