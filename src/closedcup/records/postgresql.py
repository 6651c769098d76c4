"""Records in a PostgreSQL database: what is special about this engine.

Everything lies in one schema of the database, `closedcup`. Writers take turns by an advisory
lock that is the first statement of each write, at READ COMMITTED: so each statement after it sees
what the writer before committed. At a stricter isolation the view of the data is taken before
the lock is granted, and the chain would fork.
"""

import re
from typing import Any, Final

import psycopg
from sqlalchemy import URL, Connection, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.schema import CreateSchema

from closedcup.errors import ClosedcupError, Conflict, Damaged, InputError
from closedcup.records.database import DatabaseStore
from closedcup.records.store import Durability
from closedcup.records.tables import SCHEMA_VERSION, metadata

SCHEMA: Final = "closedcup"
# "ccup" in ASCII, as in the header of the file of the other engine
_LOCK: Final = 0x63637570
_OLDEST_SERVER: Final = 130000
# How long to wait for another writer; a commit takes a few milliseconds
_WAIT_S: Final = 10.0
_CONNECT_S: Final = 10

# What a connection sets for itself, whatever the server's or the role's own settings are
_SETTINGS: Final = {
    "search_path": SCHEMA,
    "synchronous_commit": "on",
    "lock_timeout": f"{_WAIT_S:.0f}s",
    "statement_timeout": "0",
}

_REFUSE: Final = f"""
CREATE FUNCTION {SCHEMA}.refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what was recorded or issued is never changed or deleted';
END $$
"""
_FOLLOW: Final = f"""
CREATE FUNCTION {SCHEMA}.follow_the_last() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last record;
BEGIN
    SELECT seq, seal INTO last FROM {SCHEMA}.events ORDER BY seq DESC LIMIT 1;
    IF NEW.seq IS DISTINCT FROM coalesce(last.seq, 0) + 1
        OR NEW.previous IS DISTINCT FROM coalesce(last.seal, NEW.previous)
    THEN
        RAISE EXCEPTION 'an event only follows the last one';
    END IF;
    RETURN NEW;
END $$
"""  # noqa: S608 - the schema is the constant above
# They stop accidents and other programs, not the owner of the database: the seals tell of that.
# Row triggers do not see TRUNCATE; and a session may switch off all that are not ALWAYS.
_GUARDS: Final = {
    "events_are_not_changed": "BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW "
    "EXECUTE FUNCTION {schema}.refuse_change()",
    "events_are_not_emptied": "BEFORE TRUNCATE ON {table} FOR EACH STATEMENT "
    "EXECUTE FUNCTION {schema}.refuse_change()",
    "events_follow_the_last": "BEFORE INSERT ON {table} FOR EACH ROW "
    "EXECUTE FUNCTION {schema}.follow_the_last()",
    "attachments_are_not_changed": "BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW "
    "EXECUTE FUNCTION {schema}.refuse_change()",
    "attachments_are_not_emptied": "BEFORE TRUNCATE ON {table} FOR EACH STATEMENT "
    "EXECUTE FUNCTION {schema}.refuse_change()",
}

# SQLSTATE codes and classes (PostgreSQL, appendix A)
_BUSY: Final = ("55P03", "40P01", "57014")
_AGAINST_THE_RULES: Final = ("23505", "P0001")
_DISK_FULL: Final = "53100"
_DENIED: Final = ("25006", "42501")
_TEXT_UNFIT: Final = ("54000", "22021", "22P05")
# no answer at all, connection, authorisation, unknown database, shutting down
_UNREACHABLE: Final = ("", "08", "28", "3D", "57")
# … and those whose transaction is certainly rolled back
_ROLLED_BACK: Final = re.compile(r"(22|23|25|40(?!003)|42|53)")


class PostgresqlStore(DatabaseStore):
    """A `Store` in one PostgreSQL database."""

    # the driver encodes text before it sends it: half a surrogate pair never leaves
    engine_errors = (DBAPIError, UnicodeError)

    def __init__(self, url: str) -> None:
        """Open the database, and make the tables where there are none; see `open_store`."""
        parsed = _parsed(url)
        engine = create_engine(
            parsed,
            isolation_level="READ COMMITTED",
            connect_args={"connect_timeout": _CONNECT_S, "client_encoding": "UTF8"},
            # a server that was restarted meanwhile is noticed before a write, not in it
            pool_pre_ping=True,
        )
        event.listen(engine, "connect", _configure)
        super().__init__(engine, parsed.render_as_string(hide_password=True))
        try:
            self._recognise_server()
            self._make_tables()
        except BaseException:
            self.close()
            raise

    def faults(self) -> list[str]:
        """Look for the guards against changes: there, and switched on for everybody."""
        with self.reading() as connection:
            rows = connection.execute(_TRIGGERS, {"schema": SCHEMA})
            found = {row.tgname: row.tgenabled for row in rows}
        missing = [f"the guard “{name}” is missing" for name in sorted(_GUARDS.keys() - found)]
        off = [
            f"the guard “{name}” is switched off"
            for name in sorted(_GUARDS.keys() & found)
            if found[name] not in ("A", b"A")
        ]
        return missing + off

    def durability(self) -> Durability:
        """Return how this server makes commits safe now."""
        with self.reading() as connection:
            shown = {
                name: connection.exec_driver_sql(f"SHOW {name}").scalar_one()
                for name in ("server_version", "fsync", "full_page_writes", "synchronous_commit")
            }
        off = [name for name in ("fsync", "full_page_writes") if shown[name] != "on"]
        because = (
            f"NOT SAFE: {' and '.join(off)} of the server is off; a power cut can lose or damage "
            "what was acknowledged"
            if off
            else "the server syncs its write-ahead log to the disk before it acknowledges a commit"
        )
        synchronous = f"{shown['synchronous_commit']}, fsync {shown['fsync']}"
        engine = f"PostgreSQL {shown['server_version']}"
        return Durability(engine, "write-ahead log", synchronous, because)

    def _take_turn(self, connection: Connection) -> None:
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})

    def _surely_undone(self, error: Exception) -> bool:
        # without an answer of the server, or when it shut down, the commit may have been made
        return _ROLLED_BACK.match(_sqlstate(error)) is not None

    def _explain(self, error: Exception) -> ClosedcupError:
        return _explained(error, self.place)

    def _recognise_server(self) -> None:
        with self.reading() as connection:
            version = int(connection.exec_driver_sql("SHOW server_version_num").scalar_one())
            encoding = connection.exec_driver_sql("SHOW server_encoding").scalar_one()
        if version < _OLDEST_SERVER:
            raise InputError(
                "server-too-old",
                f"The server is PostgreSQL {version // 10000}.",
                where=self.place,
                fix="Use PostgreSQL 13 or newer.",
            )
        if encoding != "UTF8":
            raise InputError(
                "encoding-unfit",
                f"The database keeps text as {encoding}.",
                where=self.place,
                fix="Make a database with ENCODING 'UTF8'.",
            )

    def _make_tables(self) -> None:
        """Make schema and tables in a new database; look at the version in another."""
        with self.reading() as connection:
            if self._is_ours(connection):
                return
        with self.writing() as connection:
            if self._is_ours(connection):  # another client was first
                return
            connection.execute(CreateSchema(SCHEMA))
            metadata.create_all(connection, checkfirst=False)
            for function in (_REFUSE, _FOLLOW):
                connection.exec_driver_sql(function)
            for name, rule in _GUARDS.items():
                table = f"{SCHEMA}.{name.partition('_')[0]}"
                made = rule.format(table=table, schema=SCHEMA)
                connection.exec_driver_sql(f"CREATE TRIGGER {name} {made}")
                connection.exec_driver_sql(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}")
            comment = f"closedcup records, tables {SCHEMA_VERSION}"
            connection.exec_driver_sql(f"COMMENT ON SCHEMA {SCHEMA} IS '{comment}'")

    def _is_ours(self, connection: Connection) -> bool:
        """Whether our schema is there; raise Damaged for another's, or a newer one."""
        # from the catalogue's own tables: the to_reg… functions may still see it as it was
        row = connection.execute(_COMMENT, {"schema": SCHEMA}).first()
        if row is None:
            return False
        found = re.fullmatch(r"closedcup records, tables (\d+)", row.comment or "")
        if found is None:
            raise self._foreign()
        if int(found[1]) > SCHEMA_VERSION:
            raise Damaged(
                "records-newer",
                f"The records were written by a newer closedcup (tables {found[1]}; "
                f"this one knows {SCHEMA_VERSION}).",
                where=self.place,
                fix="Update closedcup.",
            )
        return True

    def _foreign(self) -> Damaged:
        return Damaged(
            "records-foreign",
            f"The schema “{SCHEMA}” of this database was made by another program; "
            "nothing in it was changed.",
            where=self.place,
            fix="Set CLOSEDCUP_DATABASE to your records, or to a new database.",
        )


_COMMENT: Final = text(
    "SELECT obj_description(oid, 'pg_namespace') AS comment FROM pg_namespace "
    "WHERE nspname = :schema"
)
_TRIGGERS: Final = text(
    "SELECT tgname, tgenabled FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
    "JOIN pg_namespace ON pg_namespace.oid = relnamespace "
    "WHERE NOT tgisinternal AND nspname = :schema"
)


def _parsed(url: str) -> URL:
    try:
        parsed = make_url(url)
    except ArgumentError:
        parsed = None
    if parsed is None or not parsed.database:
        raise InputError(
            "address-unusable",
            "The address names no database.",
            where="CLOSEDCUP_DATABASE",
            fix="Give it like postgresql+psycopg://ann@server/laboratory.",
        )
    return parsed


def _configure(connection: Any, _record: Any) -> None:
    with connection.cursor() as cursor:
        for name, value in _SETTINGS.items():
            cursor.execute("SELECT set_config(%s, %s, false)", (name, value))
    connection.commit()


def _sqlstate(error: Exception) -> str:
    return getattr(getattr(error, "orig", None), "sqlstate", None) or ""


def _explained(error: Exception, place: str) -> ClosedcupError:
    """Say an error of the engine in words, by its SQLSTATE (PostgreSQL, appendix A)."""
    state = _sqlstate(error)
    cause = str(getattr(error, "orig", None) or error).strip().partition("\n")[0].rstrip(".")
    again = "Send the same entry again, with the same key."
    if state in _BUSY:
        waited = f"Another program has kept the records busy for {_WAIT_S:.0f} s."
        return Conflict("records-busy", waited, where=place, fix=f"Wait. {again}")
    if state in _AGAINST_THE_RULES:
        first = f"Another program wrote at the same instant, or past the rules: {cause}."
        return Conflict("outrun", first, where=place, fix=again)
    if state == _DISK_FULL:
        full = "The disk of the server is full."
        return InputError("disk-full", full, where=place, fix=f"Make room. {again}")
    if state in _DENIED:
        denied = f"The records cannot be written: {cause}."
        grant = "Ask for the right to read and insert; a standby server cannot be written."
        return InputError("read-only", denied, where=place, fix=grant)
    if state in _TEXT_UNFIT or _refused_by_driver(error):
        unfit = f"The server cannot keep this text: {cause}."
        return InputError("text-unfit", unfit, where=place, fix="Enter a shorter, plain text.")
    if state[:2] in _UNREACHABLE:
        silent = f"The database server does not answer: {cause}."
        running = "See that it runs, that the database exists and that you may use it; try again."
        return InputError("server-unreachable", silent, where=place, fix=running)
    return Damaged(
        "records-unreadable",
        f"The records cannot be read or written: {cause}.",
        where=place,
        fix="Look into the server’s log, then run closedcup check-records.",
    )


def _refused_by_driver(error: Exception) -> bool:
    """Whether the driver itself refused a text: the character NUL, or half a surrogate pair."""
    text_refused = isinstance(getattr(error, "orig", None), psycopg.DataError)
    return isinstance(error, UnicodeError) or (text_refused and not _sqlstate(error))
