"""Facts that exist only because they were recorded: a plan as made, a release, an issued report."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Plan:
    """The estimate, the stop list and the starting temperature as given to the analyst.

    `estimate`, `start` and `hazards` are the answers as issued, so that a later formula cannot
    change what the analyst was told.
    """

    test: str
    estimate: Mapping[str, Any] | None
    estimate_refused: str
    start: Mapping[str, Any]
    start_cup_c: float
    hazards: tuple[Mapping[str, Any], ...]
    decision: str


@dataclass(frozen=True, slots=True)
class HazardReview:
    """A named reviewer's decision on a test that the stop list holds back."""

    test: str
    reviewer: str
    proceed: bool
    conditions: str


@dataclass(frozen=True, slots=True)
class Release:
    """A result released or held, and why."""

    result: str
    released: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Classified:
    """Classifications as issued; `refused` says why there are none."""

    result: str
    answers: tuple[Mapping[str, Any], ...]
    refused: Mapping[str, Any] | None


@dataclass(frozen=True, slots=True)
class IssuedReport:
    """A report as issued: where its document and its record are kept, and the seal it prints.

    An amended one says which report it replaces, what changed, and who was told.
    """

    number: str
    result: str
    document_sha256: str
    record_sha256: str
    seal: str
    seal_number: int
    issued_at: str
    authorised_by: str
    replaces: str = ""
    changes: str = ""
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file kept beside a result: a photograph, the apparatus's own record."""

    result: str
    name: str
    sha256: str
    size: int
    what: str


@dataclass(frozen=True, slots=True)
class SampleFilter:
    """A search in the list of samples, saved under a name for everybody; or dropped again."""

    name: str
    words: str
    states: tuple[str, ...]
    overdue: bool
    urgent: bool
    dropped: bool = False


@dataclass(frozen=True, slots=True)
class TraceMapping:
    """How the files of an apparatus are read: the columns by name, units, decimal mark.

    time_unit: s, ms, min, h, or clock (hh:mm:ss or ISO 8601). detector: "" where there is none.
    lag_s: how late the detector answers, ± lag_half_width_s (95 %), as a person said.
    """

    time: str
    time_unit: str
    temperature: str
    temperature_unit: str
    detector: str
    decimal_mark: str
    lag_s: float = 0.0
    lag_half_width_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ImportMapping:
    """How a table is read: the column of each field, units by field, decimal mark, date order.

    decimal_mark: "." or ",", empty where no text proves one; date_order: "day-month-year" and the
    like, empty where only dates with the year first are read.
    """

    kind: str
    columns: Mapping[str, Any]
    units: Mapping[str, Any]
    decimal_mark: str
    date_order: str
    encoding: str = ""
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class ImportedFile:
    """A file that was taken in: its hash, how it was read, what became of its rows.

    `is_kept`: whether the file itself is kept; one too large for that is known by its hash only.
    """

    name: str
    sha256: str
    size: int
    is_kept: bool
    mapping: ImportMapping
    new: int
    known: int
    refused: int
