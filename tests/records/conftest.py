"""What the tests of the records share.

The suite runs once per engine: an engine is added by giving `url` another address to make.
"""

import contextlib
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import make_url

from closedcup.records import NewEvent, Store, open_store

# modules beside the tests, whatever way pytest imports those
sys.path.append(str(Path(__file__).parent))
WRITER = Path(__file__).with_name("writer.py")


@pytest.fixture(params=["sqlite"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Return the address of records that do not exist yet."""
    return f"{request.param}:///{(tmp_path / 'records.sqlite').as_posix()}"


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    with open_store(url) as opened:
        yield opened


@pytest.fixture(scope="session")
def entry() -> Callable[..., NewEvent]:
    from record_entries import make_entry

    return make_entry


@pytest.fixture(scope="session")
def start_writer() -> Callable[..., subprocess.Popen[str]]:
    """Return a function that starts a process which appends and prints what is acknowledged."""

    def start(url: str, prefix: str, count: int) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, str(WRITER), url, prefix, str(count)],
            stdout=subprocess.PIPE,
            text=True,
        )

    return start


@pytest.fixture
def tamper(url: str) -> Callable[[str], None]:
    """Return a function that changes the records behind the program's back, guards removed."""

    def change(statement: str, *values: object) -> None:
        with contextlib.closing(sqlite3.connect(make_url(url).database)) as connection:
            guards = connection.execute(
                "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
            ).fetchall()
            for name, _ in guards:
                connection.execute(f"DROP TRIGGER {name}")
            connection.execute(statement, values)
            for _, sql in guards:
                connection.execute(sql)
            connection.commit()

    return change
