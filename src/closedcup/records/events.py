"""The envelope of an event: what every record says, whatever it is about.

The kinds of event (`sample-received`, …) and what their bodies hold are not known here. An event
is named in the past tense, tells two times (when it was observed, when it was recorded) and
carries the numbers as issued with the versions of the program and the data that gave them.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple, Self

from closedcup.errors import ClosedcupError, Damaged, InputError
from closedcup.records.canonical import canonical_bytes, read_canonical
from closedcup.records.chain import Head

_TYPE: Final = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_TIME: Final = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)", flags=re.ASCII
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """What a client asks to have recorded.

    key: made by the client, one per entry, the same when it asks again; type: past tense
    ("sample-received"); version: of the body's shape; subject: what it is about ("sample/S-12");
    observed_at: ISO 8601 with the local offset; by: a person's id, never a name; reason: why,
    where one is asked for; program, data: versions; body: JSON without floats.
    Raises InputError for an envelope that breaks these rules.
    """

    key: str
    type: str
    version: int = 1
    subject: str
    observed_at: str
    by: str
    reason: str = ""
    program: str
    data: str
    body: Mapping[str, Any]

    def __post_init__(self) -> None:
        for name in ("key", "subject", "by", "program", "data"):
            _require(_is_text(getattr(self, name)), name, "is not filled in")
        _require(_is_text(self.reason, or_empty=True), "reason", "is not text")
        _require(
            _is_text(self.type) and _TYPE.fullmatch(self.type) is not None,
            "type",
            "is not a name like sample-received",
        )
        _require(_is_count(self.version), "version", "is not a whole number from 1")
        _require(
            _parse_time(self.observed_at) is not None,
            "observed_at",
            "is not a time with its offset, like 2026-03-02T09:15:00+01:00",
        )
        _require(isinstance(self.body, Mapping), "body", "is not a JSON object")

    def asks_the_same(self, other: "NewEvent") -> bool:
        """Whether both ask for one and the same entry.

        The program's and the data's versions may differ: an entry sent again after an update is
        still that entry.
        """
        return _entry(self) == _entry(other)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event(NewEvent):
    """What was recorded: what was asked, its number, the time in UTC and its seal."""

    seq: int
    recorded_at: str
    seal: str

    def __post_init__(self) -> None:
        NewEvent.__post_init__(self)
        _require(_is_count(self.seq), "seq", "is not a whole number from 1")
        require_utc(self.recorded_at)

    @property
    def head(self) -> Head:
        """The seal to print with whatever rests on this event and all before it."""
        return Head(self.seq, self.seal)

    @classmethod
    def from_canonical(cls, data: bytes, seal: str) -> Self:
        """Read an event from the bytes that were hashed; raise Damaged if they are not one."""
        envelope = read_canonical(data)
        if not isinstance(envelope, dict) or envelope.keys() != _SEALED:
            raise Damaged("not-an-event", "The bytes are not an event that this program knows.")
        try:
            return cls(**envelope, seal=seal)
        except ClosedcupError as error:
            raise Damaged("not-an-event", f"The bytes are not an event: {error}") from error


_ASKED: Final = tuple(field.name for field in fields(NewEvent))
_SEALED: Final = {field.name for field in fields(Event)} - {"seal"}


def canonical_event(new: NewEvent, *, seq: int, recorded_at: str) -> bytes:
    """Return the bytes to hash and store: the whole envelope, with its number and time."""
    asked = {name: getattr(new, name) for name in _ASKED}
    return canonical_bytes({**asked, "seq": seq, "recorded_at": recorded_at})


class Outline(NamedTuple):
    """What stands behind the body in an event's bytes, as far as a check of the chain needs it."""

    seq: int
    key: str
    subject: str
    recorded_at: str


def outline(data: bytes) -> Outline | None:
    """Read an event's envelope without its body, in a tenth of the time; None when unsure.

    Its keys are in order, so the body comes first and everything else stands at the end. In a
    text every quotation mark has a backslash before it, so nothing in the body can pass for this.
    """
    found = _OUTLINE.fullmatch(data, data.rfind(_BEHIND_BODY))
    if found is None or not data.startswith(_BODY):
        return None
    try:
        return Outline(int(found[3]), found[1].decode(), found[4].decode(), found[2].decode())
    except UnicodeDecodeError:
        return None


_BODY: Final = b'{"body":{'
_BEHIND_BODY: Final = b',"by":"'
_OUTLINE: Final = re.compile(
    rb',"by":"[^"\\]+","data":"[^"\\]+","key":"([^"\\]+)","observed_at":"[0-9T:.Z+-]+",'
    rb'"program":"[^"\\]+","reason":"[^"\\]*","recorded_at":"([0-9T:.Z+-]+)","seq":([0-9]{1,16}),'
    rb'"subject":"([^"\\]+)","type":"[a-z0-9-]+","version":[0-9]{1,16}\}'
)


def require_utc(recorded_at: str) -> None:
    """Raise InputError unless this is an ISO 8601 time in UTC."""
    time = _parse_time(recorded_at)
    _require(
        time is not None and time.utcoffset() == timedelta(0),
        "recorded_at",
        "is not a time in UTC, like 2026-03-02T08:15:00Z",
    )


def _entry(new: NewEvent) -> bytes:
    names = [name for name in _ASKED if name not in ("program", "data")]
    return canonical_bytes({name: getattr(new, name) for name in names})


def _is_text(value: object, *, or_empty: bool = False) -> bool:
    return isinstance(value, str) and (or_empty or value.strip() != "")


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 1


def _parse_time(text: object) -> datetime | None:
    if not isinstance(text, str) or not _TIME.fullmatch(text):
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def _require(holds: bool, name: str, complaint: str) -> None:
    if not holds:
        raise InputError("event-unfit", f"The event’s {name} {complaint}.", where=name)
