"""The session of the person at this command line: its token in a file that only they can read."""

import hashlib
import os
from pathlib import Path

from closedcup.errors import InputError


def token_for(place: str) -> str:
    """Return the token kept for some records, empty when nobody signed in from here."""
    try:
        return _file(place).read_text(encoding="ascii").strip()
    except (FileNotFoundError, UnicodeDecodeError):
        return ""


def keep_token(place: str, token: str) -> Path:
    """Keep a token in place of an earlier one; return where. Nobody else may read the file."""
    file = _file(place)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.unlink(missing_ok=True)
        # made anew and with its rights from the start: nobody has it open already
        handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as kept:
            kept.write(token)
    except OSError as error:
        raise InputError(
            "session-unkept",
            f"The session cannot be kept: {error.strerror or error}.",
            where=str(file),
            fix="See that you may write there.",
        ) from error
    return file


def drop_token(place: str) -> None:
    """Forget the token kept for some records."""
    _file(place).unlink(missing_ok=True)


def _file(place: str) -> Path:
    from closedcup.records import default_url

    folder = Path(default_url().partition(":///")[2]).parent
    return folder / f"session-{hashlib.sha256(place.encode()).hexdigest()[:16]}"
