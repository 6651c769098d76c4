"""The machine-readable record of a report: every key with its meaning, in one definition.

The classes here, in record_of_test.py and in record_of_meaning.py are the type checker's view,
the run-time check (`check_shape`) and the reference page (`describe`) at once. Keys may be added
freely; `version` grows when one is renamed or dropped. A measured value is a decimal string
("40.50" keeps its resolution) or a number. The record says what was issued; the document prints
it and recomputes nothing.
"""

from typing import Annotated, Any, Literal, NotRequired, TypedDict

from closedcup.reports.canonical import canonical_json
from closedcup.reports.record_of_meaning import (
    Classification,
    ClassificationRefused,
    Conformity,
    EvidenceShown,
    RegimesShown,
    Source,
)
from closedcup.reports.record_of_test import (
    Apparatus,
    Determination,
    Estimate,
    Plan,
    Pressure,
    RequestedTest,
    Result,
    Sample,
)
from closedcup.reports.shape import Measured, check_shape


class Report(TypedDict):
    """The document itself."""

    number: Annotated[str, "unique number of the report"]
    title: Annotated[str, "title printed on top"]
    issued_at: Annotated[str, "date and time of issue, ISO 8601 with offset"]
    issued_by: Annotated[str, "id of the person who issues it (see people)"]
    authorised_by: Annotated[str | None, "id of the person who authorises the result"]
    seal: Annotated[str, "head of the event chain when issued, hexadecimal"]
    seal_number: Annotated[int, "sequence number of the event that has this seal"]
    replaces: Annotated[str | None, "number of the report that this one replaces"]
    changes: Annotated[str | None, "what changed against the replaced report, and why"]


class Laboratory(TypedDict):
    """Who tested, and where."""

    name: Annotated[str, "name of the laboratory"]
    address: Annotated[str, "postal address, one line"]
    place_of_activity: Annotated[str | None, "where the test was done"]
    altitude_m: Annotated[Measured | None, "altitude in metres, for the pressure check"]
    contact: Annotated[str | None, "how to reach the laboratory"]
    demonstration: Annotated[bool, "true: people, samples and results are invented"]


class Customer(TypedDict):
    """For whom."""

    name: Annotated[str | None, "name of the customer"]
    contact: Annotated[str | None, "contact of the customer"]


class Signature(TypedDict):
    """A signature under the result: sealed in the chain, with what was signed."""

    by: Annotated[str, "id of the person who signed (see people)"]
    meaning: Annotated[Literal["performed", "reviewed", "approved"], "what the signature means"]
    signed_at: Annotated[str, "when, ISO 8601 with offset"]
    seal_number: Annotated[int, "number of the entry that was signed: the result's own"]
    seal: Annotated[str, "its seal, a hash of it and of all entries before it"]


class Person(TypedDict):
    """A name for an id."""

    id: Annotated[str, "id used in this record"]
    name: Annotated[str, "name as printed"]
    role: Annotated[str, "role in the laboratory"]


class Program(TypedDict):
    """What computed the result."""

    version: Annotated[str, "version of closedcup"]
    data: Annotated[str, "version of its reference data"]


class Record(TypedDict):
    """The whole record; this is what is attached to the PDF and stored beside it."""

    format: Annotated[Literal["closedcup-record"], "always closedcup-record"]
    version: Annotated[Literal[1], "version of this format"]
    report: Report
    laboratory: Laboratory
    customer: Customer
    sample: Sample
    test: RequestedTest
    estimate: Annotated[Estimate | None, "null: no estimate was made"]
    plan: Plan
    apparatus: Apparatus
    determinations: Annotated[list[Determination], "every determination, in the order made"]
    pressure: Pressure
    result: Result
    conformity: Annotated[Conformity | None, "null: no statement of conformity"]
    classifications: Annotated[list[Classification], "one for each regime asked"]
    regimes: NotRequired[Annotated[RegimesShown | None, "what the picture of the regimes shows"]]
    classification_refused: Annotated[ClassificationRefused | None, "null: not refused"]
    evidence: NotRequired[Annotated[list[EvidenceShown], "properties of the sample on record"]]
    people: Annotated[list[Person], "everybody named by id"]
    customer_supplied: Annotated[list[str], 'paths of customer data, such as "sample.description"']
    signatures: NotRequired[Annotated[list[Signature], "in order; made before the report"]]
    external_results: NotRequired[Annotated[list[str], "results from external providers"]]
    omitted: Annotated[dict[str, str], "items left out of the report, each with its reason"]
    sources: Annotated[list[Source], "sources of the numbers used"]
    program: Program


def open_record(data: Any) -> Record:
    """Return `data` as a Record.

    Raises InputError, with the path of the first key that is missing or not as described.
    Unknown keys are kept: they are additions of a later program.
    """
    check_shape(data, Record, "record")
    record: Record = data
    return record


def canonical_record_bytes(record: Record) -> bytes:
    """Return the bytes of the record that are hashed, attached to the PDF and written beside it."""
    return canonical_json(open_record(record))


def person_name(record: Record, person_id: str | None) -> str | None:
    """Return the printed name of an id, or None if nobody in the record has it."""
    return next((p["name"] for p in record["people"] if p["id"] == person_id), None)
