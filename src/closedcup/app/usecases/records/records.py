"""Check the records, and say how they are kept."""

import sqlite3
from dataclasses import asdict
from typing import Any, Final

from closedcup import __version__
from closedcup.app.opening import DATA_VERSION, OpenLaboratory
from closedcup.app.usecases.apparatus.verification_due import verifications_due
from closedcup.app.usecases.nonconforming.failures import note_found, state_of_failure
from closedcup.app.usecases.records.backups import act_as_console, backups_on_record
from closedcup.errors import ClosedcupError, Damaged
from closedcup.records import Head, check, parse_seal
from closedcup.records.following import Progress, make_again

# So many events are checked in two seconds
_CHECKED_WHOLE: Final = 200_000


def check_records(opened: OpenLaboratory, seal: str | None = None) -> dict[str, Any]:
    """Check every event against its seal, and whether an earlier seal is still in the chain."""
    found = check(opened.store, None if seal is None else parse_seal(seal))
    return {**found.as_json(), "passed": found.holds}


def note_damage(opened: OpenLaboratory, found: dict[str, Any]) -> dict[str, Any]:
    """Note in the register of failures that a check found damage, once for the same damage.

    `failure` is its id; None where the damaged records take no entry, `not_noted` then says why.
    """
    first = found["problems"][0]["what"]
    try:
        act_as_console(opened)
    except ClosedcupError as error:
        return {"failure": None, "not_noted": str(error)}
    return note_found(
        opened,
        f"records-damaged/{found['first_damaged']}",
        f"The check of the records found damage from event {found['first_damaged']} on: {first}",
        "Nothing is reported from them. Take the records from a backup from before the damage.",
    )


def make_index_again(opened: OpenLaboratory, progress: Progress | None = None) -> dict[str, Any]:
    """Make the index of samples again from the events, and say whether it was what they say."""
    return {"index_as_recorded": make_again(opened.store, progress)}


def refuse_damaged(opened: OpenLaboratory) -> None:
    """Raise Damaged unless the chain is intact: nothing is reported from damaged records.

    The whole chain, or in a large laboratory what was recorded since the last report, whose seal
    is on paper; each event that a report rests on is checked against its own seal as it is read.
    """
    last = opened.state.last_report()
    if last is None or opened.store.head().seq <= _CHECKED_WHOLE:
        found = check(opened.store)
    else:
        found = check(opened.store, since=Head(last.seal_number, last.seal))
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
        "network_share": "refused: SQLite’s records are never opened on a network share"
        if durability.engine.startswith("SQLite")
        else "none of this engine’s concern: a server keeps the records",
        "verifications_due": verifications_due(opened),
        "backups": backups_on_record(opened),
        "results_recomputed": _recomputed(opened),
        "open_failures": [
            failure
            for failure in opened.state.failures
            if state_of_failure(opened.state, failure) != "closed"
        ],
        "unread_kinds": sorted(opened.state.unread),
        "sqlite_library": sqlite3.sqlite_version,
        "program": __version__,
        "data": DATA_VERSION,
    }


def _recomputed(opened: OpenLaboratory) -> dict[str, Any] | None:
    """Return the last time that issued results were computed again; None for never."""
    last = opened.state.recomputed
    return None if last is None else {**asdict(last), "differing": list(last.differing)}
