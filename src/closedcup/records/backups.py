"""Backups: a copy of the whole laboratory in one file, with a manifest, checked by restoring it.

Whatever engine keeps the records, a backup is a file of the records in SQLite, which any
closedcup opens. Beside it lies its manifest, written last: a backup without one was not finished.
"""

import hashlib
import json
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from closedcup.errors import Damaged, InputError
from closedcup.records.chain import Head, format_seal
from closedcup.records.copying import Progress, copy_records, no_progress
from closedcup.records.location import open_store
from closedcup.records.store import Store
from closedcup.records.verify import check

_FORMAT: Final = "closedcup-backup"
_NAME: Final = re.compile(r"closedcup-\d{8}T\d{6}Z-\d+\.sqlite")
_BLOCK: Final = 1 << 20


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup holds, as it was proved when it was made.

    taken_at: ISO 8601 in UTC; sha256: of the file; head: number and seal of the last event.
    """

    file: str
    taken_at: str
    program: str
    size_bytes: int
    sha256: str
    events: int
    seal: str
    documents: int
    people: int

    @property
    def head(self) -> Head:
        """The last event in the backup."""
        return Head(self.events, self.seal)

    def as_json(self) -> dict[str, Any]:
        """Return the object that is written beside the backup."""
        return {"format": _FORMAT, **asdict(self), "printed_seal": format_seal(self.head)}


def manifest_path(file: Path) -> Path:
    """Return where a backup's manifest lies."""
    return file.with_suffix(".json")


def back_up(
    store: Store, folder: Path, *, taken_at: str, program: str, progress: Progress = no_progress
) -> Path:
    """Copy the records into a new file in a folder, restore it for a check; return the file.

    Others may go on recording. The folder may lie on another computer: the copy is made on this
    one first. Raises InputError where the folder cannot be written, Damaged where the records or
    the backup are not whole; then nothing is left behind.
    """
    stamp = taken_at.replace("-", "").replace(":", "")
    with _told(folder), _workplace() as here:
        made = here / "records.sqlite"
        with open_store(_address(made)) as copy:
            copied = copy_records(store, copy, live=True, progress=progress)
        folder.mkdir(parents=True, exist_ok=True)
        file = folder / f"closedcup-{stamp}-{copied.head.seq}.sqlite"
        _refuse_existing(file)
        manifest = Manifest(
            file=file.name,
            taken_at=taken_at,
            program=program,
            size_bytes=made.stat().st_size,
            sha256=_copy(made, file),
            events=copied.events,
            seal=copied.head.seal,
            documents=copied.documents,
            people=copied.people,
        )
        try:
            _require_whole(file, manifest, progress)
            text = json.dumps(manifest.as_json(), ensure_ascii=False, indent=2)
            _write(manifest_path(file), text.encode())
        except BaseException:
            manifest_path(file).unlink(missing_ok=True)
            file.unlink()
            raise
    return file


def read_manifest(file: Path) -> Manifest:
    """Read what a backup is said to hold; Damaged when its manifest is missing or is not one.

    Raises InputError when there is no such backup.
    """
    where = manifest_path(file)
    with _told(where):
        if not file.is_file():
            raise InputError("backup-missing", "There is no such backup.", where=str(file))
        if not where.is_file():
            raise Damaged(
                "backup-unfinished",
                "The backup has no manifest beside it: it was not finished.",
                where=str(where),
                fix="Take another backup.",
            )
        text = where.read_text(encoding="utf-8", errors="replace")
    try:
        told = json.loads(text)
        is_ours = told["format"] == _FORMAT
        manifest = Manifest(**{name: told[name] for name in Manifest.__dataclass_fields__})
    except (ValueError, TypeError, KeyError):
        is_ours = False
    if not is_ours:
        raise Damaged(
            "manifest-unreadable",
            "This is not the manifest of a backup.",
            where=str(where),
            fix="Take another backup.",
        )
    return manifest


def rehearse(file: Path, progress: Progress = no_progress) -> Manifest:
    """Restore a backup to a place that is thrown away again; Damaged unless it is whole."""
    manifest = read_manifest(file)
    with _told(file):
        _require_whole(file, manifest, progress)
    return manifest


def restore(file: Path, url: str, progress: Progress = no_progress) -> Manifest:
    """Restore a backup into empty records at an address; Damaged unless it is whole."""
    manifest = read_manifest(file)
    with _told(file), _workplace() as here, _restored(file, here, manifest) as backup:
        with open_store(url) as target:
            copied = copy_records(backup, target, progress=progress)
        _require_equal(copied.head, manifest, file)
    return manifest


def remove_oldest(folder: Path, keep: int) -> list[str]:
    """Remove finished backups but for the newest `keep`; return the names of the removed."""
    with _told(folder):
        finished = sorted(
            file
            for file in folder.iterdir()
            if _NAME.fullmatch(file.name) and manifest_path(file).is_file()
        )
        removed = finished[: -max(keep, 1)]
        for file in removed:
            # the manifest first: what is left of an interruption is no finished backup
            manifest_path(file).unlink()
            file.unlink()
    return [file.name for file in removed]


def _require_whole(file: Path, manifest: Manifest, progress: Progress) -> None:
    with _workplace() as here, _restored(file, here, manifest) as store:
        found = check(
            store, progress=lambda done: progress("restoring to check", done, manifest.events)
        )
        if not found.intact:
            raise _damaged(file, found.problems[0].what)
        _require_equal(found.head, manifest, file)
        kept = (len(store.attachments()), len(store.names()))
        if kept != (manifest.documents, manifest.people):
            raise _damaged(file, "The documents or people are not as many as there were.")


@contextmanager
def _restored(file: Path, here: Path, manifest: Manifest) -> Iterator[Store]:
    """Open a copy of a backup: the file itself is never opened by the engine, so never touched."""
    copy = here / "restored.sqlite"
    if _copy(file, copy) != manifest.sha256:
        raise _damaged(file, "Its bytes are not those that were written.")
    with open_store(_address(copy)) as store:
        yield store


def _require_equal(head: Head, manifest: Manifest, file: Path) -> None:
    if head != manifest.head:
        raise _damaged(file, f"It ends at event {head.seq}, its manifest at {manifest.events}.")


def _damaged(file: Path, what: str) -> Damaged:
    return Damaged(
        "backup-damaged",
        f"The backup is not whole. {what}",
        where=str(file),
        fix="Use an earlier backup, and take a new one on another disk.",
    )


def _refuse_existing(file: Path) -> None:
    if file.exists():
        raise InputError(
            "backup-exists",
            "There is a backup of this second already.",
            where=str(file),
            fix="Wait a second.",
        )


def _copy(source: Path, target: Path) -> str:
    """Copy a file through to the disk; return the SHA-256 of what was read."""
    read = hashlib.sha256()
    try:
        with source.open("rb") as old, target.open("xb") as new:
            while block := old.read(_BLOCK):
                read.update(block)
                new.write(block)
            new.flush()
            os.fsync(new.fileno())
        _sync_folder(target.parent)
    except OSError:
        target.unlink(missing_ok=True)
        raise
    return read.hexdigest()


def _write(file: Path, content: bytes) -> None:
    with file.open("xb") as new:
        new.write(content)
        new.flush()
        os.fsync(new.fileno())
    _sync_folder(file.parent)


def _sync_folder(folder: Path) -> None:
    if sys.platform == "win32":  # a folder cannot be synced there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _workplace() -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix="closedcup-"))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _told(where: Path) -> Iterator[None]:
    """Say an error of the file system in words."""
    try:
        yield
    except OSError as error:
        raise InputError(
            "folder-unusable",
            f"The files cannot be read or written: {error.strerror or error}.",
            where=str(error.filename or where),
            fix="See that the disk has room and that you may write there.",
        ) from error


def _address(path: Path) -> str:
    return f"sqlite:///{path.as_posix()}"
