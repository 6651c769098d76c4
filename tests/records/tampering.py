"""Change records behind the program's back, as their owner could."""

import contextlib
import sqlite3
from collections.abc import Iterator
from typing import Any

from sqlalchemy import make_url


def change(url: str, statement: str) -> None:
    """Run a statement with the guards removed, and put back those that were there."""
    if url.startswith("sqlite"):
        with _file(url) as connection:
            guards = connection.execute(
                "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
            ).fetchall()
            for name, _ in guards:
                connection.execute(f"DROP TRIGGER {name}")
            connection.execute(statement)
            for _, sql in guards:
                connection.execute(sql)
            connection.commit()
        return
    with _database(url) as connection:
        guards = connection.execute(
            "SELECT relname, tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
            "WHERE NOT tgisinternal AND relnamespace = 'closedcup'::regnamespace"
        ).fetchall()
        for table, name in guards:
            connection.execute(f"ALTER TABLE {table} DISABLE TRIGGER {name}")
        connection.execute(statement)
        for table, name in guards:
            connection.execute(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}")


def run(url: str, statement: str) -> None:
    """Run a statement with the guards in place, as another program would."""
    with _file(url) if url.startswith("sqlite") else _database(url) as connection:
        connection.execute(statement)
        connection.commit()


@contextlib.contextmanager
def _file(url: str) -> Iterator[sqlite3.Connection]:
    with contextlib.closing(sqlite3.connect(make_url(url).database)) as connection:
        # the functions of the tests' statements that this engine lacks
        connection.create_function("convert_to", 2, lambda text, code: text.encode(code))
        connection.create_function("convert_from", 2, lambda data, code: data.decode(code))
        yield connection


@contextlib.contextmanager
def _database(url: str) -> Iterator[Any]:
    import psycopg

    where = make_url(url)
    address = f"host={where.query['host']} user={where.username} dbname={where.database}"
    with psycopg.connect(address) as connection:
        connection.execute("SET search_path = closedcup")
        yield connection
