"""Where the records are: the address, the usual place for it, and the engine it names."""

import os
import sys
from pathlib import Path

from closedcup.errors import InputError
from closedcup.records.store import Store


def default_url() -> str:
    """Return the address of the records in the user's data folder, by the system's own rule."""
    return f"sqlite:///{(_data_folder() / 'closedcup' / 'records.sqlite').as_posix()}"


def _data_folder() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    # XDG base directory specification: a relative path is to be ignored
    named = Path(os.environ.get("XDG_DATA_HOME", ""))
    return named if named.is_absolute() else Path.home() / ".local" / "share"


def records_are_there(url: str) -> bool:
    """Say whether an address has its records already; a database's server is asked later."""
    scheme, _, place = url.partition(":///")
    return not scheme.startswith("sqlite") or Path(place.partition("?")[0]).is_file()


def open_store(url: str) -> Store:
    """Open the records at an SQLAlchemy URL; a new file and its folders are made.

    Raises InputError for an address that cannot be used or a place that cannot be written,
    Damaged for a file that is something else.
    """
    scheme = url.partition(":")[0]
    if scheme in ("sqlite", "sqlite+pysqlite"):
        # the engine is loaded only when records are opened: it takes most of the start-up time
        from closedcup.records.sqlite import SqliteStore  # noqa: PLC0415

        return SqliteStore(url)
    if scheme == "postgresql+psycopg":
        return _open_postgresql(url)
    raise InputError(
        "address-unusable",
        f"“{scheme}” is not an engine that keeps records here.",
        where="CLOSEDCUP_DATABASE",
        fix="Give a file, like sqlite:////home/ann/closedcup/records.sqlite, "
        "or a PostgreSQL database, like postgresql+psycopg://ann@server/laboratory.",
    )


def _open_postgresql(url: str) -> Store:
    try:
        from closedcup.records.postgresql import PostgresqlStore  # noqa: PLC0415
    except ImportError as error:
        raise InputError(
            "driver-missing",
            f"The driver for PostgreSQL is not installed ({error}).",
            where="CLOSEDCUP_DATABASE",
            fix="pip install closedcup[postgres]",
        ) from error
    return PostgresqlStore(url)
