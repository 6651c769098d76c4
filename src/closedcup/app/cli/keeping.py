"""Commands that keep the records: move them, back them up, restore a backup."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list
from closedcup.app.cli.progress import progress_of

_PANEL = "Records and checks"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(backup)
    application.command("backup-rule", rich_help_panel=_PANEL)(backup_rule)
    application.command(rich_help_panel=_PANEL)(restore)
    application.command(rich_help_panel=_PANEL)(move)


def backup(
    folder: Annotated[str, typer.Argument(help="Folder for backups, best on another disk.")],
    keep: Annotated[
        int | None, typer.Option(help="Remove all but so many of the newest backups there.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Back the records up into one file, and check it by restoring it. Work may go on meanwhile."""
    from closedcup.app.usecases.records import backups, keeping
    from closedcup.errors import ClosedcupError

    with opened() as laboratory, progress_of(as_json=as_json) as progress:
        try:
            answer = keeping.take_backup(laboratory, folder, keep=keep, progress=progress)
        except ClosedcupError as error:
            noted = backups.note_backup_failed(laboratory, folder, error)
            said = noted["failure"] or f"it could not be noted. {noted['not_noted']}"
            typer.echo(f"In the register of failures: {said}", err=True)
            raise
        answer["not_recorded"] = backups.record_backup(laboratory, answer)
    if as_json:
        print_json(answer)
        return
    print_facts("Backup, restored once to check it", _facts(answer))
    print_list("Removed", answer["removed"])
    print_list("Not on record, so that the status does not show it", _said(answer))


def backup_rule(
    days: Annotated[int, typer.Option(help="How old the last backup may be, in days.")],
    reason: Annotated[str, typer.Option(help="Why so.")],
    rehearsal_days: Annotated[
        int, typer.Option(help="How long ago a restore may have been rehearsed, in days.")
    ] = 31,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Decide how old the last backup may be; the status warns when it is older."""
    from closedcup.app.usecases.records import backups

    with opened(by) as laboratory:
        answer = backups.decide_rule(laboratory, days, rehearsal_days, reason, key=key)
    if as_json:
        print_json(answer)
    else:
        print_facts("Backups", list(answer["rule"].items()))
        print_list("Look after", answer["warnings"])


def restore(
    file: Annotated[str, typer.Argument(help="A backup, its manifest beside it.")],
    to: Annotated[
        str | None,
        typer.Option(help="Address of an empty place for it; without one, only rehearse."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Restore a backup into an empty place; without --to, only rehearse it."""
    from closedcup.app.usecases.records import keeping

    with progress_of(as_json=as_json) as progress:
        if to:
            answer = keeping.restore(file, to, progress)
        else:
            answer = keeping.rehearse_restore(file, progress)
            answer["not_recorded"] = _record_rehearsal(answer)
    if as_json:
        print_json(answer)
    else:
        _print_restored(answer)
    if not answer["whole"]:
        raise typer.Exit(4)


def _record_rehearsal(answer: dict[str, Any]) -> str | None:
    """Record the rehearsal where this PC has records; a drill on an empty PC leaves none."""
    from closedcup.app.opening import address_of
    from closedcup.app.usecases.records import backups
    from closedcup.errors import ClosedcupError
    from closedcup.records.location import records_are_there

    try:
        if not records_are_there(address_of(None)):
            return "there are no records on this PC to record it in"
        with opened() as laboratory:
            return backups.record_rehearsal(laboratory, answer)
    except ClosedcupError as error:
        return str(error)


def _said(answer: dict[str, Any]) -> list[str]:
    return [answer["not_recorded"]] if answer.get("not_recorded") else []


def _print_restored(answer: dict[str, Any]) -> None:
    print_list("The rehearsal is not on record", _said(answer))
    if not answer["whole"]:
        problem = answer["problem"]
        said = [("file", answer["file"]), ("why", problem["what"]), ("then", problem["fix"])]
        print_facts("The backup CANNOT be restored", said)
        return
    place = answer["restored_to"]
    done = "Restored" if place else "Rehearsed: the backup is whole and can be restored"
    print_facts(done, [*_facts(answer), ("restored to", place)])
    if place:
        print_list(
            "Now",
            [
                "Set CLOSEDCUP_DATABASE to the address that you gave.",
                "Erase again the names that were erased since the backup was taken.",
                "Accounts have no passwords now: closedcup recover-account gives a lead’s back.",
            ],
        )


def move(
    url: Annotated[
        str, typer.Argument(help="Address of an empty place: a new file, an empty database.")
    ],
    as_json: AsJson = False,
) -> None:
    """Copy the whole laboratory to another engine, and prove both equal by their seals."""
    from closedcup.app.usecases.records import keeping

    with opened() as laboratory, progress_of(as_json=as_json) as progress:
        answer = keeping.move(laboratory, url, progress)
    if as_json:
        print_json(answer)
        return
    print_facts(
        "Moved, and proved equal",
        [
            ("from", answer["from"]),
            ("to", answer["to"]),
            ("events", answer["events"]),
            ("documents", answer["documents"]),
            ("people", answer["people"]),
            ("seal", answer["printed_seal"]),
        ],
    )
    print_list(
        "Now",
        [
            "Set CLOSEDCUP_DATABASE to the new address on every PC.",
            "Record nothing more at the old place: it would be missing at the new one.",
        ],
    )


def _facts(answer: dict[str, Any]) -> list[tuple[str, Any]]:
    return [
        ("file", answer["file"]),
        ("taken at", answer["taken_at"]),
        ("events", answer["events"]),
        ("documents", answer["documents"]),
        ("seal", answer["printed_seal"]),
        ("SHA-256", answer["sha256"]),
    ]
