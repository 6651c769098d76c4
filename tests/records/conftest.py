"""What the tests of the records share. The suite runs once per engine."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from closedcup.records import NewEvent, Store, open_store

# modules beside the tests, whatever way pytest imports those
sys.path.append(str(Path(__file__).parent))
WRITER = Path(__file__).with_name("writer.py")


@pytest.fixture(scope="session")
def postgres() -> Iterator[Any]:
    """Start a PostgreSQL server for this session; skip by name where there is none."""
    from postgres_server import PostgresServer, find_programs

    programs = find_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server here (on Debian: apt install postgresql)")
    server = PostgresServer(programs)
    yield server
    server.close()


@pytest.fixture
def new_database(postgres: Any) -> Iterator[Callable[[], str]]:
    """Return a function that gives addresses of empty PostgreSQL databases."""
    names: list[str] = []

    def make() -> str:
        names.append(postgres.new_database())
        return postgres.address(names[-1])

    yield make
    for name in names:
        postgres.give_back(name)


@pytest.fixture(params=["sqlite", "postgresql"])
def new_url(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[[], str]:
    """Return a function that gives addresses of records that do not exist yet."""
    if request.param == "postgresql":
        made: Callable[[], str] = request.getfixturevalue("new_database")
        return made

    def new_file() -> str:
        taken = len(list(tmp_path.glob("records*.sqlite")))
        name = f"records-{taken}.sqlite" if taken else "records.sqlite"
        return f"sqlite:///{(tmp_path / name).as_posix()}"

    return new_file


@pytest.fixture
def url(new_url: Callable[[], str]) -> str:
    """Return the address of records that do not exist yet."""
    return new_url()


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
            stderr=subprocess.DEVNULL,
            text=True,
        )

    return start


@pytest.fixture
def tamper(url: str) -> Callable[[str], None]:
    """Return a function that changes the records behind the program's back, guards removed."""
    from tampering import change

    return lambda statement: change(url, statement)
