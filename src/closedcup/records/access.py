"""Passwords' hashes, sessions and sign-ins: beside the chain, in the same database.

Like names they can be changed and deleted, so they are no events; that an account was made,
disabled or given a role is one. A file made before accounts gets these tables with the first one.
Copies of the records take the hashes along only when a laboratory moves; backups hold none.
"""

from collections.abc import Iterable
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass
from typing import Final, Protocol

from sqlalchemy import (
    Column,
    Connection,
    Integer,
    MetaData,
    Table,
    Text,
    delete,
    insert,
    inspect,
    select,
    update,
)

_metadata: Final = MetaData()

_credentials: Final = Table(
    "credentials",
    _metadata,
    Column("person", Text, primary_key=True),
    Column("password_hash", Text, nullable=False),
    Column("changed_at", Text, nullable=False),
    Column("failures", Integer, nullable=False),
    # empty, or until when, in UTC
    Column("locked_until", Text, nullable=False),
    # 1: given by somebody else, to be replaced at the first sign-in
    Column("temporary", Integer, nullable=False),
    sqlite_strict=True,
)
_sessions: Final = Table(
    "sessions",
    _metadata,
    # the token itself is with its bearer only
    Column("token_sha256", Text, primary_key=True),
    Column("person", Text, nullable=False),
    Column("begun_at", Text, nullable=False),
    Column("seen_at", Text, nullable=False),
    sqlite_strict=True,
)
_sign_ins: Final = Table(
    "sign_ins",
    _metadata,
    Column("number", Integer, primary_key=True),
    Column("at", Text, nullable=False),
    # empty where nobody has such an account: what was typed may be a password
    Column("person", Text, nullable=False),
    Column("outcome", Text, nullable=False),
    sqlite_strict=True,
)


@dataclass(frozen=True, slots=True)
class Credential:
    """The hash of a person's password, failed attempts since the last good one, and a lock."""

    person: str
    password_hash: str
    changed_at: str
    failures: int = 0
    locked_until: str = ""
    temporary: int = 0


@dataclass(frozen=True, slots=True)
class SessionRow:
    """A session by the hash of its token; times in UTC, as 2026-03-02T08:15:00Z."""

    token_sha256: str
    person: str
    begun_at: str
    seen_at: str


@dataclass(frozen=True, slots=True)
class SignIn:
    """An attempt to sign in or to sign: when, whose account, and how it ended."""

    at: str
    person: str
    outcome: str


class _Tables(Protocol):
    """What is needed of the store in whose database these tables are."""

    def reading(self) -> AbstractContextManager[Connection]: ...
    def writing(self) -> AbstractContextManager[Connection]: ...


class Access:
    """Credentials, sessions and sign-ins of one laboratory."""

    def __init__(self, store: _Tables) -> None:
        self._store = store

    def credential(self, person: str) -> Credential | None:
        """Return the credential of a person."""
        found = [each for each in self.credentials() if each.person == person]
        return found[0] if found else None

    def credentials(self) -> list[Credential]:
        """Return all credentials."""
        with self._store.reading() as connection:
            if not _there(connection):
                return []
            rows = connection.execute(select(_credentials).order_by(_credentials.c.person))
            return [Credential(*row) for row in rows]

    def take_over(self, credentials: Iterable[Credential]) -> None:
        """Keep another place's credentials, for the people who have none here."""
        here = {each.person for each in self.credentials()}
        for each in credentials:
            if each.person not in here:
                self.set_password(each)

    def set_password(self, credential: Credential) -> None:
        """Keep a credential in place of the person's earlier one."""
        with self._store.writing() as connection:
            _metadata.create_all(connection)
            mine = _credentials.c.person == credential.person
            connection.execute(delete(_credentials).where(mine))
            connection.execute(insert(_credentials), asdict(credential))

    def begin_attempt(self, person: str, at: str, *, most: int, locked_until: str) -> bool:
        """Count an attempt before it is judged; return False while the account is locked.

        Counted first, many attempts at once cannot outrun the lock: with the last one of `most`
        the account is locked, until `succeeded` tells that its password was right.
        """
        with self._store.writing() as connection:
            _metadata.create_all(connection)
            mine = _credentials.c.person == person
            row = connection.execute(select(_credentials).where(mine)).first()
            if row is None or row.locked_until > at:
                return False
            last = row.failures + 1 >= most
            connection.execute(
                update(_credentials)
                .where(mine)
                .values(
                    failures=0 if last else row.failures + 1,
                    locked_until=locked_until if last else "",
                )
            )
            return True

    def succeeded(self, person: str) -> None:
        """Forget the failed attempts of a person: the password was right."""
        with self._store.writing() as connection:
            mine = _credentials.c.person == person
            connection.execute(update(_credentials).where(mine).values(failures=0, locked_until=""))

    def begin_session(self, session: SessionRow, *, drop_before: str) -> None:
        """Keep a new session, and drop those that nobody used since a moment."""
        with self._store.writing() as connection:
            _metadata.create_all(connection)
            connection.execute(delete(_sessions).where(_sessions.c.seen_at < drop_before))
            connection.execute(insert(_sessions), asdict(session))

    def session(self, token_sha256: str) -> SessionRow | None:
        """Return a session by the hash of its token."""
        with self._store.reading() as connection:
            if not _there(connection):
                return None
            asked = select(_sessions).where(_sessions.c.token_sha256 == token_sha256)
            row = connection.execute(asked).first()
            return None if row is None else SessionRow(*row)

    def seen(self, token_sha256: str, at: str) -> None:
        """Write down that a session was used."""
        with self._store.writing() as connection:
            mine = _sessions.c.token_sha256 == token_sha256
            connection.execute(update(_sessions).where(mine).values(seen_at=at))

    def end_session(self, token_sha256: str) -> None:
        """End one session."""
        with self._store.writing() as connection:
            _metadata.create_all(connection)
            connection.execute(delete(_sessions).where(_sessions.c.token_sha256 == token_sha256))

    def end_sessions(self, person: str, *, but: str = "") -> None:
        """End all sessions of a person, but one."""
        with self._store.writing() as connection:
            _metadata.create_all(connection)
            mine = _sessions.c.person == person
            others = _sessions.c.token_sha256 != but
            connection.execute(delete(_sessions).where(mine, others))

    def note(self, attempt: SignIn) -> None:
        """Write an attempt down."""
        with self._store.writing() as connection:
            _metadata.create_all(connection)
            connection.execute(insert(_sign_ins), asdict(attempt))

    def noted(self, most: int) -> list[SignIn]:
        """Return the last attempts, the newest first."""
        with self._store.reading() as connection:
            if not _there(connection):
                return []
            asked = select(_sign_ins.c.at, _sign_ins.c.person, _sign_ins.c.outcome)
            rows = connection.execute(asked.order_by(_sign_ins.c.number.desc()).limit(most))
            return [SignIn(*row) for row in rows]


def _there(connection: Connection) -> bool:
    return inspect(connection).has_table(_credentials.name)
