"""Records in one SQLite file: what is special about this engine.

Whose file it is, `records.sqlite_file` tells before the engine touches it. Journal and
synchronisation follow from the library's version.
"""

import sqlite3
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, create_engine, event
from sqlalchemy.exc import DBAPIError

from closedcup.errors import ClosedcupError, Conflict, Damaged, InputError
from closedcup.records.database import DatabaseStore
from closedcup.records.sqlite_file import (
    APPLICATION_ID,
    file_at,
    make_room,
    recognise,
    recognise_versions,
    unwritable,
)
from closedcup.records.store import Durability
from closedcup.records.tables import SCHEMA_VERSION, metadata

# STRICT tables came with 3.37.0
_OLDEST_LIBRARY: Final = (3, 37, 0)
# Up to 3.51.2, two connections that write and checkpoint at the same instant can corrupt a
# write-ahead log ("WAL-reset"); 3.51.3 mended it
_SAFE_WAL: Final = (3, 51, 3)
_WRITE_AHEAD: Final = sqlite3.sqlite_version_info >= _SAFE_WAL
_JOURNAL: Final = "wal" if _WRITE_AHEAD else "delete"
_SYNCHRONOUS: Final = "full" if _WRITE_AHEAD else "extra"
_BECAUSE: Final = (
    "each commit is synced to the disk in the write-ahead log"
    if _WRITE_AHEAD
    else "this library is older than 3.51.3, whose write-ahead log can be corrupted by two "
    "connections at once; the rollback journal cannot, and its folder is synced too"
)
_SYNCHRONOUS_NAMES: Final = ("off", "normal", "full", "extra")

# How long to wait for another writer; a commit takes about a millisecond
_WAIT_S: Final = 10.0

_CONNECTION_PRAGMAS: Final = (
    f"PRAGMA synchronous = {_SYNCHRONOUS}",
    "PRAGMA mmap_size = 0",  # a stray pointer must not reach the file
    "PRAGMA cell_size_check = ON",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA secure_delete = ON",  # an erased name is overwritten, not just unlinked
)

# They stop accidents and other programs, not somebody who owns the file: the seals tell of that.
# The one on insert also stops INSERT OR REPLACE, which deletes without a delete trigger.
_GUARDS: Final = {
    "events_are_not_changed": "BEFORE UPDATE ON events BEGIN "
    "SELECT RAISE(ABORT, 'an event is never changed'); END",
    "events_are_not_deleted": "BEFORE DELETE ON events BEGIN "
    "SELECT RAISE(ABORT, 'an event is never deleted'); END",
    "events_follow_the_last": "BEFORE INSERT ON events WHEN "
    "NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM events) OR NEW.previous IS NOT "
    "coalesce((SELECT seal FROM events ORDER BY seq DESC LIMIT 1), NEW.previous) "
    "OR EXISTS (SELECT 1 FROM events WHERE key = NEW.key OR seal = NEW.seal) BEGIN "
    "SELECT RAISE(ABORT, 'an event only follows the last one'); END",
    "attachments_are_not_changed": "BEFORE UPDATE ON attachments BEGIN "
    "SELECT RAISE(ABORT, 'an issued document is never changed'); END",
    "attachments_are_not_deleted": "BEFORE DELETE ON attachments BEGIN "
    "SELECT RAISE(ABORT, 'an issued document is never deleted'); END",
    "attachments_are_not_replaced": "BEFORE INSERT ON attachments "
    "WHEN EXISTS (SELECT 1 FROM attachments WHERE sha256 = NEW.sha256) BEGIN "
    "SELECT RAISE(ABORT, 'an issued document is never replaced'); END",
}


class SqliteStore(DatabaseStore):
    """A `Store` in one SQLite file."""

    # sqlite3 puts text of a damaged file into its messages, and fails when that is no UTF-8
    engine_errors = (DBAPIError, sqlite3.Error, UnicodeDecodeError)

    def __init__(self, url: str) -> None:
        """Open the file, or make it where there is none; see `records.open_store`."""
        if sqlite3.sqlite_version_info < _OLDEST_LIBRARY:
            raise InputError(
                "sqlite-too-old",
                f"The SQLite library of this Python is {sqlite3.sqlite_version}.",
                fix="Use a Python built with SQLite 3.37 or newer.",
            )
        path = file_at(url)
        make_room(path)
        recognise(path)
        engine = create_engine(
            URL.create("sqlite+pysqlite", database=str(path)),
            # no transaction that we did not begin ourselves
            connect_args={"isolation_level": None, "timeout": _WAIT_S},
        )
        event.listen(engine, "connect", _configure)
        super().__init__(engine, str(path))
        try:
            self._make_tables()
            self._set_journal()
        except BaseException:
            self.close()
            raise

    def faults(self) -> list[str]:
        """Run SQLite's own check of the file and look for the guards against changes."""
        try:
            with self.reading() as connection:
                complaints = list(
                    connection.exec_driver_sql("PRAGMA integrity_check(20)").scalars()
                )
                triggers = connection.exec_driver_sql(
                    "SELECT name FROM sqlite_schema WHERE type = 'trigger'"
                )
                missing = sorted(_GUARDS.keys() - set(triggers.scalars()))
        except Damaged as error:
            return [error.what]
        guards = [f"the guard “{name}” is missing" for name in missing]
        return [line for line in complaints if line != "ok"] + guards

    def durability(self) -> Durability:
        """Return journal and synchronisation as this file has them now."""
        with self.reading() as connection:
            journal = connection.exec_driver_sql("PRAGMA journal_mode").scalar_one()
            level = connection.exec_driver_sql("PRAGMA synchronous").scalar_one()
        name = f"SQLite {sqlite3.sqlite_version}"
        return Durability(name, journal, _SYNCHRONOUS_NAMES[level], _BECAUSE)

    def _take_turn(self, connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    def _surely_undone(self, error: Exception) -> bool:
        # the commit waited for readers in vain; the transaction is rolled back on closing
        return _code(error) == sqlite3.SQLITE_BUSY

    def _explain(self, error: Exception) -> ClosedcupError:
        match _code(error):
            case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
                return Conflict(
                    "records-busy",
                    f"Another program has kept the records busy for {_WAIT_S:.0f} s.",
                    where=self.place,
                    fix="Close it, or wait; then send the same entry again.",
                )
            case sqlite3.SQLITE_FULL:
                return InputError(
                    "disk-full",
                    "The disk is full.",
                    where=self.place,
                    fix="Make room, then send the same entry again.",
                )
            case sqlite3.SQLITE_READONLY:
                return unwritable(self.place)
            case sqlite3.SQLITE_CANTOPEN | sqlite3.SQLITE_PERM | sqlite3.SQLITE_AUTH:
                return InputError(
                    "cannot-open",
                    "The file cannot be opened.",
                    where=self.place,
                    fix="See that the folder exists and that you may read and write in it.",
                )
        return Damaged(
            "records-unreadable",
            f"The records cannot be read or written: {_cause(error)}.",
            where=self.place,
            fix="Copy the file away, then run closedcup check-records on the copy.",
        )

    def _make_tables(self) -> None:
        """Make the tables in a new file; look at the versions in another."""
        with self.reading() as connection:
            # no turn to write is needed to look: a client that opens keeps no other waiting
            if not self._is_new(connection):
                return
        with self.writing() as connection:
            if not self._is_new(connection):  # another client was first
                return
            metadata.create_all(connection)
            for name, rule in _GUARDS.items():
                connection.exec_driver_sql(f"CREATE TRIGGER {name} {rule}")
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA_VERSION}")

    def _is_new(self, connection: Connection) -> bool:
        """Whether nothing is in the file yet; raise Damaged for another's, or a newer one."""
        application = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
        version = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
        tables = connection.exec_driver_sql("SELECT count(*) FROM sqlite_schema").scalar_one()
        if application == 0 and tables == 0:
            return True
        recognise_versions(Path(self.place), application, version)
        return False

    def _set_journal(self) -> None:
        with self.reading() as connection:
            mode = connection.exec_driver_sql("PRAGMA journal_mode").scalar_one()
        if mode == _JOURNAL:
            return
        try:
            with self.reading() as connection:
                connection.exec_driver_sql(f"PRAGMA journal_mode = {_JOURNAL}")
        except Conflict as busy:
            raise Conflict(
                "journal-unsafe",
                f"The file’s journal is “{mode}”; with SQLite {sqlite3.sqlite_version} it has to "
                f"be “{_JOURNAL}”, and another program that has the file open prevents the change.",
                where=self.place,
                fix="Close the other program, then open the records again.",
            ) from busy


def _configure(connection: sqlite3.Connection, _record: Any) -> None:
    for pragma in _CONNECTION_PRAGMAS:
        connection.execute(pragma)


def _cause(error: Exception) -> BaseException:
    return (error.orig if isinstance(error, DBAPIError) else None) or error


def _code(error: Exception) -> int:
    """Return the primary result code of SQLite, 0 for an error of the driver itself."""
    return getattr(_cause(error), "sqlite_errorcode", 0) & 0xFF
