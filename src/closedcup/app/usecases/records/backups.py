"""Backups on record: the last one, whether a restore was rehearsed, and the laboratory's rule."""

from datetime import datetime, timedelta
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.nonconforming.failures import note_found
from closedcup.app.usecases.people.accounts import CONSOLE
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory.upkeep import BackupRehearsed, BackupRule, BackupTaken
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def record_backup(opened: OpenLaboratory, taken: Answer) -> str | None:
    """Record a backup that was taken; return why it could not be recorded, None when it is.

    Whoever holds the records takes backups without signing in, so a nightly task can. The entry is
    made after the copy: the backup itself does not hold it.
    """
    backup = BackupTaken(
        file=str(taken["file"]),
        taken_at=str(taken["taken_at"]),
        events=int(taken["events"]),
        seal=str(taken["seal"]),
        sha256=str(taken["sha256"]),
    )
    return _recorded(opened, "backup-taken", backup, f"backup-taken/{backup.sha256}")


def record_rehearsal(opened: OpenLaboratory, rehearsed: Answer) -> str | None:
    """Record a rehearsal of a restore, and a system failure where it cannot be restored."""
    whole, problem = bool(rehearsed["whole"]), rehearsed["problem"]
    done = BackupRehearsed(
        file=str(rehearsed["file"]),
        taken_at=str(rehearsed.get("taken_at", "")),
        events=int(rehearsed.get("events", 0)),
        seal=str(rehearsed.get("seal", "")),
        whole=whole,
        problem="" if whole else str(problem["what"]),
    )
    not_recorded = _recorded(opened, "restore-rehearsed", done, None)
    if whole or not_recorded is not None:
        return not_recorded
    noted = note_found(
        opened,
        f"restore/{done.file}",
        f"The backup {done.file} cannot be restored: {done.problem}",
        "None yet. Use an earlier backup, and take a new one on another disk.",
    )
    return None if noted["not_noted"] is None else str(noted["not_noted"])


def note_backup_failed(opened: OpenLaboratory, folder: str, error: ClosedcupError) -> Answer:
    """Note in the register of failures that no backup could be taken."""
    try:
        act_as_console(opened)
    except ClosedcupError as unreadable:
        return {"failure": None, "not_noted": str(unreadable)}
    return note_found(
        opened,
        f"backup/{error.kind}/{folder}",
        f"No backup could be taken into {folder}: {error.what}",
        f"None yet. {error.fix or 'See the message.'}",
    )


def act_as_console(opened: OpenLaboratory) -> None:
    """Let whoever holds the records record what happens to them, without signing in."""
    if opened.has_accounts and not opened.signed_in:
        opened.by, opened.at_console = CONSOLE, True


def _recorded(opened: OpenLaboratory, kind: str, body: object, key: str | None) -> str | None:
    try:
        act_as_console(opened)
        if opened.state.site is None:
            return "these records belong to no laboratory yet"
        if kind == "backup-taken":
            opened.record("backup-taken", "records", body, key=key)
        else:
            opened.record("restore-rehearsed", "records", body, key=key)
    except ClosedcupError as error:
        return str(error)
    return None


def decide_rule(
    opened: OpenLaboratory,
    backup_days: int,
    rehearsal_days: int,
    reason: str,
    *,
    key: str | None = None,
) -> Answer:
    """Decide how old the last backup and the last rehearsal may be, from 1 to 366 days."""
    for days, where in ((backup_days, "days"), (rehearsal_days, "rehearsal-days")):
        if not 1 <= days <= 366:
            raise InputError(
                "days-impossible",
                f"{days} days is no age for the last one.",
                where=where,
                fix="Give 1 to 366 days: 1 for each night, 31 for each month.",
            )
    opened.permit("backup-rule-decided")
    said, rule = in_words(reason, "reason"), BackupRule(backup_days, rehearsal_days)
    opened.record("backup-rule-decided", "records", rule, key=key, reason=said)
    return backups_on_record(opened)


def backups_on_record(opened: OpenLaboratory) -> Answer:
    """Return the last backup and rehearsal on record, the rule, and what is overdue by it."""
    ledger = opened.state
    taken, rehearsed, rule = ledger.last_backup, ledger.last_rehearsal, ledger.backup_rule
    return {
        "last_backup": None
        if taken is None
        else {
            "taken_at": taken.taken_at,
            "file": taken.file,
            "events": taken.events,
            "seal": taken.seal,
            "events_since": opened.store.head().seq - taken.events,
        },
        "last_rehearsal": None
        if rehearsed is None
        else {
            "at": rehearsed[0],
            "file": rehearsed[1].file,
            "whole": rehearsed[1].whole,
            "problem": rehearsed[1].problem or None,
        },
        "rule": None
        if rule is None
        else {"backup_days": rule.backup_days, "rehearsal_days": rule.rehearsal_days},
        "warnings": _warnings(ledger, opened.clock()),
    }


def _warnings(ledger: Ledger, now: datetime) -> list[str]:
    taken, rehearsed, rule = ledger.last_backup, ledger.last_rehearsal, ledger.backup_rule
    said = []
    if taken is None:
        said.append("No backup is on record. Take one: closedcup backup FOLDER")
    elif rule is not None and _is_older(taken.taken_at, rule.backup_days, now):
        said.append(
            f"The last backup is of {taken.taken_at[:10]}; the laboratory's rule asks for one "
            f"every {_days(rule.backup_days)}. Take one: closedcup backup FOLDER"
        )
    if rehearsed is not None and not rehearsed[1].whole:
        said.append(f"The last rehearsal failed: {rehearsed[1].problem}")
    elif rule is not None and (
        rehearsed is None or _is_older(rehearsed[0], rule.rehearsal_days, now)
    ):
        said.append(
            f"No restore was rehearsed in the last {_days(rule.rehearsal_days)}, as the "
            "laboratory's rule asks. Rehearse one: closedcup restore FILE"
        )
    if taken is not None and rule is None:
        said.append(
            "The laboratory has not decided how old its last backup may be: closedcup backup-rule"
        )
    return said


def _is_older(moment: str, days: int, now: datetime) -> bool:
    return now - datetime.fromisoformat(moment) > timedelta(days=days)


def _days(count: int) -> str:
    return "day" if count == 1 else f"{count} days"
