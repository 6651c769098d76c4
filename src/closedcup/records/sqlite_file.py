"""Whose file is it? Told from its address and its header, before the engine touches it.

So a file of another program, or of a newer closedcup, is never changed.
"""

import os
import struct
from pathlib import Path
from typing import Final

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

from closedcup.errors import Damaged, InputError
from closedcup.records.network_share import network_share
from closedcup.records.tables import SCHEMA_VERSION

# "ccup" in ASCII, in the file's header (SQLite file format, bytes 68 to 71)
APPLICATION_ID: Final = 0x63637570
_MAGIC: Final = b"SQLite format 3\x00"
_HEADER_BYTES: Final = 100
_JOURNAL_MAGIC: Final = bytes.fromhex("d9d505f920a163d7")
_JOURNAL_START: Final = struct.Struct(">8sIIIII")
_PAGE_AT_MOST: Final = 65536
_PAGE_ONE: Final = (1).to_bytes(4, "big")


def file_at(url: str) -> Path:
    """Return the file that an address names; InputError when it names none."""
    try:
        parsed = make_url(url)
    except ArgumentError:
        parsed = None
    if (
        parsed is None
        or parsed.host
        or parsed.query
        or parsed.database in (None, "", ":memory:")
        or str(parsed.database).startswith("file:")
    ):
        raise InputError(
            "address-unusable",
            f"“{url}” does not name a file.",
            where="CLOSEDCUP_DATABASE",
            fix="Give a file, like sqlite:////home/ann/closedcup/records.sqlite "
            "or sqlite:///C:/laboratory/records.sqlite.",
        )
    return Path(str(parsed.database)).absolute()


def make_room(path: Path) -> None:
    """Make the folders of a file; InputError on another computer's share or without the right."""
    _refuse_share(path)
    _make_folder(path.parent)


def _refuse_share(path: Path) -> None:
    share = network_share(path)
    if share is not None:
        raise InputError(
            "network-share",
            f"The file would lie on another computer ({share}); two computers that write there "
            "at once damage it.",
            where=str(path),
            fix="Name a file on a disk of this PC. For several PCs use a server: "
            "CLOSEDCUP_DATABASE=postgresql+psycopg://ann@server/laboratory.",
        )


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            "folder-unusable",
            f"The folder for the records cannot be made: {error.strerror}.",
            where=str(folder),
            fix="Choose a folder of your own, or ask for the right to write there.",
        ) from error


def recognise(path: Path) -> None:
    """Look at a file's header without the engine; raise unless it is ours, empty or absent.

    InputError says why, and what to name instead.
    """
    if path.is_dir():
        raise InputError(
            "cannot-open", "This is a folder.", where=str(path), fix="Name a file in it."
        )
    try:
        with path.open("rb") as file:
            header = file.read(_HEADER_BYTES)
    except FileNotFoundError:
        if not os.access(path.parent, os.W_OK):
            raise unwritable(str(path.parent)) from None
        return
    except OSError as error:
        raise InputError(
            "cannot-open",
            f"The file cannot be read: {error.strerror}.",
            where=str(path),
            fix="Ask for the right to read and write it.",
        ) from error
    if not header.startswith(_MAGIC):
        # torn in a crash? then the engine is about to bring it back from the journal
        header = _header_in_journal(path) or header
    if header:
        if not header.startswith(_MAGIC) or len(header) < _HEADER_BYTES:
            raise _foreign(path, "is not a database")
        application = int.from_bytes(header[68:72], "big")
        recognise_versions(path, application, int.from_bytes(header[60:64], "big"))
    if not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        raise unwritable(str(path))


def _header_in_journal(path: Path) -> bytes:
    """Return the file's header as the last transaction found it; empty where no journal says."""
    try:
        with path.with_name(f"{path.name}-journal").open("rb") as journal:
            # SQLite file format, "The Rollback Journal": magic, count, nonce, pages, two sizes
            magic, count, _, _, sector, size = _JOURNAL_START.unpack(
                journal.read(_JOURNAL_START.size)
            )
            if magic != _JOURNAL_MAGIC or size > _PAGE_AT_MOST:
                return b""
            for place in range(sector, sector + count * (size + 8), size + 8):
                journal.seek(place)
                if journal.read(4) == _PAGE_ONE:
                    return journal.read(_HEADER_BYTES)
    except (OSError, struct.error):
        pass
    return b""


def recognise_versions(path: Path, application: int, version: int) -> None:
    """Raise Damaged unless the versions in a file are ours and not of a newer program."""
    if application != APPLICATION_ID or version < 1:
        raise _foreign(path, "is the database of another program")
    if version > SCHEMA_VERSION:
        raise Damaged(
            "records-newer",
            f"The records were written by a newer closedcup (tables {version}; "
            f"this one knows {SCHEMA_VERSION}).",
            where=str(path),
            fix="Update closedcup.",
        )


def _foreign(path: Path, what: str) -> Damaged:
    return Damaged(
        "records-foreign",
        f"This file {what}; nothing in it was changed.",
        where=str(path),
        fix="Set CLOSEDCUP_DATABASE to your records, or to a file that does not exist yet.",
    )


def unwritable(place: str) -> InputError:
    """Return what to say about a place that cannot be written."""
    return InputError(
        "read-only",
        "The records cannot be written: no permission, or a read-only file or disk.",
        where=place,
        fix="Ask for the right to write the file and its folder.",
    )
