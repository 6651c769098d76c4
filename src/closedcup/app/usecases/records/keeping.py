"""Keep the records: move them to another engine, back them up, restore a backup."""

from datetime import UTC
from pathlib import Path
from typing import Any

from closedcup import __version__
from closedcup.app.opening import OpenLaboratory
from closedcup.errors import Damaged, InputError
from closedcup.records import format_seal, open_store
from closedcup.records.backups import (
    Manifest,
    back_up,
    manifest_path,
    read_manifest,
    rehearse,
    remove_oldest,
)
from closedcup.records.backups import restore as restore_backup
from closedcup.records.copying import Progress, copy_records, no_progress


def move(opened: OpenLaboratory, url: str, progress: Progress = no_progress) -> dict[str, Any]:
    """Copy the laboratory to an empty place at an address and prove both equal by their seals.

    Nothing changes here. What is recorded here afterwards is not there.
    """
    with open_store(url) as target:
        copied = copy_records(opened.store, target, progress=progress)
        there = target.place
    return {
        "from": opened.store.place,
        "to": there,
        "events": copied.events,
        "documents": copied.documents,
        "people": copied.people,
        "seal": copied.head.seal,
        "printed_seal": format_seal(copied.head),
        "equal": True,
    }


def take_backup(
    opened: OpenLaboratory,
    folder: str,
    *,
    keep: int | None = None,
    progress: Progress = no_progress,
) -> dict[str, Any]:
    """Take a backup into a folder, check it by restoring it, and remove all but the newest."""
    if keep is not None and keep < 1:
        raise InputError(
            "keep-unusable", f"{keep} backups cannot be kept.", where="keep", fix="Keep at least 1."
        )
    file = back_up(
        opened.store,
        Path(folder).absolute(),
        taken_at=opened.clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        program=__version__,
        progress=progress,
    )
    removed = [] if keep is None else remove_oldest(file.parent, keep)
    return {**_told(file, read_manifest(file)), "restored_to_check": True, "removed": removed}


def rehearse_restore(file: str, progress: Progress = no_progress) -> dict[str, Any]:
    """Restore a backup to a place that is thrown away; `whole` says whether it can be done."""
    backup = Path(file).absolute()
    try:
        manifest = rehearse(backup, progress)
    except Damaged as damage:
        problem = damage.as_json()["error"]
        return {"file": str(backup), "whole": False, "problem": problem, "restored_to": None}
    return {**_told(backup, manifest), "whole": True, "problem": None, "restored_to": None}


def restore(file: str, url: str, progress: Progress = no_progress) -> dict[str, Any]:
    """Restore a backup to an empty place; Damaged unless it is whole."""
    backup = Path(file).absolute()
    manifest = restore_backup(backup, url, progress)
    with open_store(url) as restored:
        place = restored.place
    return {**_told(backup, manifest), "whole": True, "problem": None, "restored_to": place}


def _told(file: Path, manifest: Manifest) -> dict[str, Any]:
    return {**manifest.as_json(), "file": str(file), "manifest": str(manifest_path(file))}
