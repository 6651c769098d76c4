"""Check the records, and say how they are kept."""

import sqlite3
from typing import Any

from closedcup import __version__
from closedcup.app.opening import DATA_VERSION, OpenLaboratory
from closedcup.errors import Damaged
from closedcup.records import check, parse_seal


def check_records(opened: OpenLaboratory, seal: str | None = None) -> dict[str, Any]:
    """Check every event against its seal, and whether an earlier seal is still in the chain."""
    found = check(opened.store, None if seal is None else parse_seal(seal))
    return {**found.as_json(), "passed": found.holds}


def refuse_damaged(opened: OpenLaboratory) -> None:
    """Raise Damaged unless the whole chain is intact: nothing is reported from damaged records."""
    found = check(opened.store)
    if not found.intact:
        raise Damaged(
            "records-damaged",
            f"The records are damaged from event {found.first_damaged} on.",
            where=opened.store.place,
            fix="Issue nothing from them. See: closedcup check-records",
        )


def status(opened: OpenLaboratory) -> dict[str, Any]:
    """Return where the records are, how commits are made safe, and the versions at work."""
    durability = opened.store.durability()
    head = opened.store.head()
    return {
        "records": opened.store.place,
        "events": head.seq,
        "seal": head.seal,
        "engine": durability.engine,
        "journal": durability.journal,
        "synchronous": durability.synchronous,
        "because": durability.because,
        "unread_kinds": sorted(opened.state.unread),
        "sqlite_library": sqlite3.sqlite_version,
        "program": __version__,
        "data": DATA_VERSION,
    }
