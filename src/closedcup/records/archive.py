"""The whole laboratory in one ZIP file that needs no database, and back out of it.

READ-ME.txt       how to check it without this program
events.jsonl      one event a line, in order: its exact bytes, and its seal
documents/…       issued documents and kept files, each under its SHA-256
documents.json    their names
people.json       names of people by id, where they are given along
manifest.json     what there is, and the last seal
"""

import json
import zipfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import IO, Any, Final

from closedcup.errors import Damaged, InputError
from closedcup.records.chain import ALGORITHM, Head, digest, format_seal
from closedcup.records.copying import Copied, Progress, no_progress
from closedcup.records.events import Event, outline
from closedcup.records.store import Attachment, Store, StoredEvent
from closedcup.records.verify import check

_FORMAT: Final = "closedcup-archive"
_VERSION: Final = 1
_TELL_EVERY: Final = 1000
# No event is longer; a longer line is not read into memory
_LINE_AT_MOST: Final = 64 << 20
_DOCUMENT_AT_MOST: Final = 1 << 30
_NO_ARCHIVE: Final = (OSError, zipfile.BadZipFile, KeyError, ValueError)

_READ_ME: Final = """The records of a laboratory, in order, as closedcup keeps them.

Each line of events.jsonl is a JSON object: "canonical" holds the exact text that was sealed,
"previous" the seal of the event before, "seal" its own. The seal is the SHA-256, in hexadecimal, of
these four parts, the first three each closed by one line feed:

    closedcup.records.event
    sha256-v1
    the previous seal
    the text of "canonical" in UTF-8

The last seal is in manifest.json. A seal printed on a report begins with the number of its event.
Documents lie under the SHA-256 of their content.
"""


def write_archive(  # noqa: PLR0913 - two facts to note in it, two ways to make it
    store: Store,
    path: Path,
    *,
    taken_at: str,
    program: str,
    with_names: bool = True,
    progress: Progress = no_progress,
) -> dict[str, Any]:
    """Write all events, documents and (if wanted) names; return the manifest.

    Others may go on recording: what they record meanwhile is left out. The file appears when it is
    whole. Raises Damaged where an event or a document is not what was recorded.
    InputError where the file cannot be written.
    """
    until = store.head()
    documents = store.attachments()
    names = store.names() if with_names else {}
    unfinished = path.with_name(f".{path.name}.part")
    try:
        with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("READ-ME.txt", _READ_ME)
            events = zipfile.ZipInfo("events.jsonl", _date_time(taken_at))
            events.compress_type = zipfile.ZIP_DEFLATED
            with archive.open(events, "w", force_zip64=True) as file:
                for event in _up_to(store, until):
                    file.write(_line(event))
                    if event.seq % _TELL_EVERY == 0:
                        progress("writing", event.seq, until.seq)
            kept = {}
            for sha256 in documents:
                document = store.attachment(sha256)
                kept[sha256] = document.name
                archive.writestr(f"documents/{sha256}", document.content)
            archive.writestr("documents.json", _as_json(kept))
            archive.writestr("people.json", _as_json(names))
            manifest = {
                "format": _FORMAT,
                "version": _VERSION,
                "taken_at": taken_at,
                "program": program,
                "events": until.seq,
                "seal": until.seal,
                "printed_seal": format_seal(until),
                "documents": len(kept),
                "people": len(names),
            }
            archive.writestr("manifest.json", _as_json(manifest))
        unfinished.replace(path)
    except OSError as error:
        raise InputError(
            "file-unwritable",
            f"The archive could not be written: {error.strerror or error}.",
            where=str(path),
            fix="Name another place, or make room there.",
        ) from error
    finally:
        unfinished.unlink(missing_ok=True)
    return manifest


def open_archive(path: Path, target: Store, *, progress: Progress = no_progress) -> Copied:
    """Put an archive's records into an empty place and check every seal; all or nothing.

    Raises InputError for a file that is no archive, Damaged where a seal or a document is not what
    the manifest and the seals say.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = _manifest(archive, path)
            head = Head(manifest["events"], manifest["seal"])
            names = json.loads(archive.read("people.json"))
            target.adopt(
                _rows(archive, path, head, progress),
                _documents(archive, path),
                names,
                ends_at=lambda: head,
            )
    except _NO_ARCHIVE as error:
        raise _unreadable(path, error) from error
    found = check(target, progress=lambda done: progress("checking", done, head.seq))
    documents = target.attachments()
    if not found.intact or found.head != head or len(documents) != manifest["documents"]:
        raise Damaged(
            "archive-damaged",
            "What came out of the archive is not what went into it.",
            where=str(path),
            fix="Throw this copy away and ask for the archive again.",
        )
    return Copied(found.events, found.head, len(documents), len(names))


def require_archive(path: Path) -> None:
    """Raise InputError for a file that is no archive, before a place is made for it."""
    try:
        with zipfile.ZipFile(path) as archive:
            _manifest(archive, path)
    except _NO_ARCHIVE as error:
        raise _unreadable(path, error) from error


def _unreadable(path: Path, error: Exception) -> InputError:
    return InputError(
        "archive-unreadable",
        f"This is no archive of records: {error}.",
        where=str(path),
        fix="Name a file that `closedcup archive` wrote.",
    )


def _date_time(taken_at: str) -> tuple[int, int, int, int, int, int]:
    moment = datetime.fromisoformat(taken_at)
    return moment.year, moment.month, moment.day, moment.hour, moment.minute, moment.second


def _up_to(store: Store, until: Head) -> Iterator[StoredEvent]:
    for row in store.stored():
        if row.seq > until.seq:
            return
        yield row


def _line(row: StoredEvent) -> bytes:
    sealed = {
        "canonical": row.canonical.decode(),
        "previous": row.previous,
        "seal": row.seal,
    }
    return json.dumps(sealed, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _as_json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1, sort_keys=True)


def _manifest(archive: zipfile.ZipFile, path: Path) -> dict[str, Any]:
    manifest: dict[str, Any] = json.loads(archive.read("manifest.json"))
    if manifest.get("format") != _FORMAT:
        raise ValueError("its manifest is another program's")
    if manifest["version"] > _VERSION:
        raise InputError(
            "archive-newer",
            "The archive was written by a newer closedcup.",
            where=str(path),
            fix="Update closedcup.",
        )
    return manifest


def _rows(
    archive: zipfile.ZipFile, path: Path, head: Head, progress: Progress
) -> Iterator[StoredEvent]:
    with archive.open("events.jsonl") as file:
        for number, line in enumerate(_lines(file, path), start=1):
            sealed = json.loads(line)
            canonical = sealed["canonical"].encode()
            read = outline(canonical) or Event.from_canonical(canonical, sealed["seal"])
            yield StoredEvent(
                seq=read.seq,
                key=read.key,
                subject=read.subject,
                algorithm=ALGORITHM,
                previous=sealed["previous"],
                seal=sealed["seal"],
                canonical=canonical,
            )
            if number % _TELL_EVERY == 0:
                progress("reading", number, head.seq)


def _lines(file: IO[bytes], path: Path) -> Iterator[bytes]:
    while line := file.readline(_LINE_AT_MOST):
        if not line.endswith(b"\n"):
            raise Damaged(
                "archive-damaged",
                "An event in the archive is cut off, or longer than any event is.",
                where=str(path),
                fix="Ask for the archive again.",
            )
        yield line


def _documents(archive: zipfile.ZipFile, path: Path) -> Iterator[Attachment]:
    for sha256, name in json.loads(archive.read("documents.json")).items():
        with archive.open(f"documents/{sha256}") as file:
            content = file.read(_DOCUMENT_AT_MOST)
        if digest(content) != sha256:
            raise Damaged(
                "document-damaged",
                f"The document “{name}” is not what was issued.",
                where=f"{path}, documents/{sha256}",
                fix="Ask for the archive again.",
            )
        yield Attachment(sha256, name, content)
