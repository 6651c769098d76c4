"""Password hashes that cost next to nothing: the real costs are tried in one test."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from argon2 import PasswordHasher

from closedcup.app.usecases import passwords


@contextmanager
def quick_hashes() -> Iterator[None]:
    """Hash with the least costs for as long as this lasts."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passwords, "hasher", lambda: quick)
        yield
