"""A PostgreSQL server for the tests: of their own, on a socket of their own, thrown away after.

The server's programs refuse root, so as root they are run as an ordinary user.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

OWNER = "closedcup"
_UNPRIVILEGED = "65534"


def find_programs() -> Path | None:
    """Return the newest folder that holds initdb and pg_ctl; Debian keeps them off the PATH."""
    if sys.platform == "win32":
        return None
    versions = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3])
    )
    on_path = shutil.which("initdb")
    found = [*versions, *([Path(on_path)] if on_path else [])]
    return found[-1].parent if found else None


class PostgresServer:
    """One server. A database costs a tenth of a second, so those given back are used again."""

    def __init__(self, programs: Path, *, synced: bool = False) -> None:
        self.programs = programs
        # a socket's path may hold about a hundred characters: not in pytest's folders
        self.folder = Path(tempfile.mkdtemp(prefix="closedcup-pg-"))
        self.databases = 0
        self.free: list[str] = []
        self.synced = synced
        if os.geteuid() == 0:
            os.chown(self.folder, int(_UNPRIVILEGED), int(_UNPRIVILEGED))
        self._run("initdb", "-A", "trust", "-U", OWNER, "-E", "UTF8", "--locale=C", "--no-sync")
        self.start()

    def start(self) -> None:
        settings = f"-k {self.folder} -h '' -c fsync={'on' if self.synced else 'off'}"
        self._run("pg_ctl", "-w", "-o", settings, "-l", str(self.folder / "log"), "start")

    def stop(self, mode: str = "fast") -> None:
        self._run("pg_ctl", "-w", "-m", mode, "stop")

    def address(self, database: str, user: str = OWNER) -> str:
        return f"postgresql+psycopg://{user}@/{database}?host={self.folder}"

    def new_database(self, encoding: str = "UTF8") -> str:
        """Make an empty database; return its name."""
        if self.free and encoding == "UTF8":
            return self.free.pop()
        self.databases += 1
        name = f"laboratory_{self.databases}"
        self.statement(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING '{encoding}'")
        return name

    def give_back(self, name: str) -> None:
        """Empty a database for the next test."""
        self.statement("DROP SCHEMA IF EXISTS closedcup CASCADE", database=name)
        self.free.append(name)

    def statement(self, text: str, *, database: str = "postgres") -> None:
        import psycopg

        address = f"host={self.folder} user={OWNER} dbname={database}"
        with psycopg.connect(address, autocommit=True) as connection:
            connection.execute("SET lock_timeout = '5s'")
            connection.execute(text)

    def close(self) -> None:
        self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def _run(self, program: str, *words: str) -> None:
        command = [str(self.programs / program), "-D", str(self.folder / "data"), *words]
        if os.geteuid() == 0:
            ids = [f"--reuid={_UNPRIVILEGED}", f"--regid={_UNPRIVILEGED}", "--clear-groups"]
            command = ["setpriv", *ids, *command]
        # not a pipe: the server would keep it open
        with (self.folder / "output").open("w+") as output:
            done = subprocess.run(
                command, stdout=output, stderr=output, cwd=self.folder, check=False
            )
            output.seek(0)
            assert done.returncode == 0, output.read()
