"""The seal of an event: a SHA-256 over its bytes and the seal of the event before.

What is hashed is four parts, the first three closed by one line feed:

    closedcup.records.event⏎sha256-v1⏎<previous seal, 64 hex digits>⏎<canonical bytes>

None of the first three can hold a line feed and the last runs to the end, so no two events give
the same bytes. `docs/decisions/seals.md` works an example that any SHA-256 tool repeats. Changing
anything here breaks every seal ever printed: a new layout gets a new algorithm id.
"""

import hashlib
import re
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError

ALGORITHM: Final = "sha256-v1"
_EVENT_TAG: Final = b"closedcup.records.event"
_GENESIS_TAG: Final = b"closedcup.records.genesis"

# A report prints 80 bits: to forge another chain with the same would take about 2⁸⁰ hashes
PRINTED_DIGITS: Final = 20
_GROUP: Final = 5
_SEAL: Final = re.compile(r"[0-9a-f]{64}")
_BEFORE_PREVIOUS: Final = b"\n".join((_EVENT_TAG, ALGORITHM.encode(), b""))


def digest(data: bytes) -> str:
    """Return the SHA-256 of the bytes in 64 hex digits (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()


# The seal "before" the first event
GENESIS: Final = digest(_GENESIS_TAG + b"\n" + ALGORITHM.encode() + b"\n")


def seal(previous: str, canonical: bytes) -> str:
    """Seal an event's canonical bytes onto the seal before (64 hex digits in, 64 out)."""
    if not _SEAL.fullmatch(previous):
        raise ValueError(f"not a seal: {previous!r}")
    return digest(b"%b%b\n%b" % (_BEFORE_PREVIOUS, previous.encode(), canonical))


@dataclass(frozen=True, slots=True)
class Head:
    """The last event's number and its seal; (0, GENESIS) before the first."""

    seq: int
    seal: str


@dataclass(frozen=True, slots=True)
class PrintedSeal:
    """A seal as somebody holds it: its first 20 to 64 hex digits, mostly with its number."""

    seq: int | None
    digits: str

    def matches(self, head: Head) -> bool:
        """Whether this is that event's seal."""
        return self.seq in (None, head.seq) and head.seal.startswith(self.digits)


def format_seal(head: Head) -> str:
    """Write the seal for paper: 1204-9f86d-081c8-4c7d6-59a2f."""
    digits = head.seal[:PRINTED_DIGITS]
    groups = [digits[start : start + _GROUP] for start in range(0, PRINTED_DIGITS, _GROUP)]
    return "-".join([str(head.seq), *groups])


def parse_seal(text: str) -> PrintedSeal:
    """Read a seal typed from a report, or the full 64 digits from a data file.

    Spaces, hyphens and capitals do not matter. Raises InputError for fewer than 20 digits.
    """
    plain = text.strip().lower()
    if _SEAL.fullmatch(plain):
        return PrintedSeal(None, plain)
    number, *groups = re.split(r"[\s\-–·]+", plain)
    digits = "".join(groups)
    if not (number.isascii() and number.isdigit()) or not re.fullmatch(r"[0-9a-f]{20,64}", digits):
        raise InputError(
            "seal-unreadable",
            f"“{text}” is not a seal.",
            where="seal",
            fix="Copy the number and all its groups, like 1204-9f86d-081c8-4c7d6-59a2f.",
        )
    return PrintedSeal(int(number), digits)
