"""The machine-readable record of a report: every key with its meaning, in one definition.

The classes below are the type checker's view, the run-time check (`check_shape`) and the
reference page (`describe`) at once. Keys may be added freely; `version` grows when one is
renamed or dropped. A measured value is a decimal string ("40.50" keeps its resolution) or a
number. The record says what was issued; the document prints it and recomputes nothing.
"""

from typing import Annotated, Any, Final, Literal, NotRequired, TypedDict

from closedcup.reports.canonical import canonical_json
from closedcup.reports.shape import Measured, check_shape

FORMAT: Final = "closedcup-record"
VERSION: Final = 1


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


class Component(TypedDict):
    """One component of the composition."""

    name: Annotated[str, "name of the component"]
    cas: Annotated[str | None, "CAS registry number"]
    fraction: Annotated[Measured, "fraction on the stated basis, 0 to 1"]


class Composition(TypedDict):
    """What is in the sample, and how far that is trusted."""

    trust: Annotated[Literal["declared", "measured", "unknown"], "where the composition is from"]
    basis: Annotated[Literal["mole", "mass", "volume"] | None, "basis of the fractions"]
    components: Annotated[list[Component], "components; empty when unknown"]


class Sample(TypedDict):
    """What arrived."""

    id: Annotated[str, "the laboratory's identification of the sample"]
    description: Annotated[str | None, "what it is said to be"]
    condition: Annotated[str | None, "condition at receipt, with anything unusual"]
    received_at: Annotated[str | None, "when received, ISO 8601"]
    sampled_at: Annotated[str | None, "when sampled, ISO 8601"]
    sampled_by: Annotated[Literal["customer", "laboratory"], "who took the sample"]
    sampling: Annotated[str | None, "sampling plan or method"]
    container: Annotated[str | None, "container and closure"]
    fill_percent: Annotated[Measured | None, "filling of the container, per cent of its volume"]
    arrived_at_c: Annotated[Measured | None, "temperature at receipt, °C"]
    composition: Annotated[Composition, "composition and its trust"]
    product_kind: Annotated[str | None, "kind of product, as the method's precision names it"]
    waste: Annotated[bool, "whether the sample is waste"]


class TestLimit(TypedDict):
    """The limit that the test was asked to decide."""

    text: Annotated[str, "the limit as given, with operator and unit"]
    operator: Annotated[str, "one of <, <=, >, >="]
    corrected_c: Annotated[Measured, "the limit at 101.3 kPa, °C"]


class RequestedTest(TypedDict):
    """What was asked for."""

    id: Annotated[str, "identification of the requested test"]
    method: Annotated[str, "method identifier, as `closedcup methods` lists it"]
    method_name: Annotated[str | None, "designation of the method as printed"]
    edition: Annotated[str | None, "edition used"]
    kind: Annotated[Literal["finite", "limit"], "a finite flash point, or flash at a limit"]
    limit: Annotated[TestLimit | None, "the limit, for a limit test or a conformity statement"]
    step_c: Annotated[Measured | None, "last step between specimens or applications, °C"]
    decision_rule: Annotated[str | None, "rule agreed for conformity, before the test"]
    safety_limit: NotRequired[Annotated[bool, "the limit is for safety: no tolerance"]]
    confirmed: Annotated[bool, "method numbers confirmed against the laboratory's own copy"]
    specimen_ml: Annotated[Measured, "volume of each specimen, mL"]
    igniter: Annotated[str, "igniter and its supply"]


class Estimate(TypedDict):
    """The prediction made before the test; other keys of `closedcup estimate` may stand here."""

    flash_point_c: Annotated[Measured, "estimated flash point at 101.3 kPa, °C"]
    low_c: Annotated[Measured, "lower end of the interval at 101.3 kPa, °C"]
    high_c: Annotated[Measured, "upper end of the interval at 101.3 kPa, °C"]
    coverage: Annotated[str | Measured, "what the interval covers"]


class Plan(TypedDict):
    """Where the test started, and why."""

    starting_cup_c: Annotated[Measured, "first temperature set, as the cup shows it, °C"]
    rule: Annotated[str, "rule that gave it"]
    clause: Annotated[str | None, "clause of the method that the rule stands in"]
    trusts: Annotated[str, "what the plan relied on"]
    hazards: Annotated[list[str], "hazards found before any temperature was set"]
    reviewer: Annotated[str | None, "id of the person who reviewed the hazards"]


class Verification(TypedDict):
    """The last check of the apparatus with a reference material."""

    on: Annotated[str, "date of the verification, ISO 8601"]
    material: Annotated[str, "reference material"]
    lot: Annotated[str, "its lot"]
    mean_c: Annotated[Measured, "mean found, at 101.3 kPa, °C"]
    reference_c: Annotated[Measured, "reference value, °C"]
    difference_c: Annotated[Measured, "mean minus reference, °C"]
    limit_c: Annotated[Measured, "largest difference accepted, °C"]
    in_control: Annotated[bool, "whether the apparatus is in control"]


class Apparatus(TypedDict):
    """What it was tested with."""

    id: Annotated[str, "the laboratory's identification of the apparatus"]
    description: Annotated[str, "kind of apparatus"]
    state: Annotated[str, "its state when the test was done"]
    probe_correction_c: Annotated[Measured | None, "added to each cup reading, °C; null: none"]
    probe_correction_text: Annotated[str, "the probe correction in words"]
    verification: Annotated[Verification | None, "last verification; null: none on record"]


class AlreadyCorrected(TypedDict):
    """A reading that the apparatus or a person had corrected for pressure before."""

    pressure: Annotated[str, "pressure used, with unit"]
    by: Annotated[str, "by whom or what"]


class Determination(TypedDict):
    """One fresh specimen at one temperature, or one application of a ramp."""

    number: Annotated[int, "order in which it was made"]
    specimen: Annotated[int, "which specimen"]
    cup_c: Annotated[Measured, "what the cup showed, °C, as recorded"]
    eye: Annotated[str, "what the analyst saw"]
    detector: Annotated[bool | str | None, "what the detector gave; null: not used"]
    counts_as: Annotated[Literal["flash", "no flash", "void", "stop"], "what it counts as"]
    valid: Annotated[bool, "whether it supports the result"]
    note: Annotated[str | None, "remark of the analyst"]
    observed_at: Annotated[str, "when observed, ISO 8601 with offset"]
    by: Annotated[str, "id of the person who observed"]
    already_corrected: Annotated[AlreadyCorrected | None, "null: the reading is as shown"]


class Pressure(TypedDict):
    """The pressure during the test."""

    text: Annotated[str, "as entered, with unit"]
    kpa: Annotated[Measured, "in kPa"]
    kind: Annotated[Literal["station", "sea level"], "as measured there, or reduced to sea level"]
    altitude_check: Annotated[str | None, "what the comparison with the altitude said"]


class Bracket(TypedDict):
    """Where the flash point lies, at 101.3 kPa."""

    low_c: Annotated[Measured | None, "highest no flash, corrected, °C"]
    high_c: Annotated[Measured | None, "lowest flash, corrected, °C"]


class Result(TypedDict):
    """The result and the chain that led to it."""

    id: Annotated[str, "identification of the result"]
    kind: Annotated[str, "finite, limit, or why there is no number"]
    statement: Annotated[str, "the result in one sentence"]
    observed_cup_c: Annotated[Measured | None, "cup temperature that the method takes, °C"]
    probe_correction_c: Annotated[Measured | None, "probe correction added, °C; null: none"]
    pressure_correction_c: Annotated[Measured | None, "pressure correction added, °C"]
    corrected_c: Annotated[Measured | None, "sum, at 101.3 kPa, before rounding, °C"]
    reported_c: Annotated[Measured | None, "rounded once, as the method says, °C"]
    reported_text: Annotated[str | None, "the result as printed, with its unit"]
    rounding: Annotated[str | None, "the method's rounding in words"]
    bracket: Annotated[Bracket | None, "for a result by steps"]
    repeatability_c: Annotated[Measured | None, "repeatability limit r of the method here, °C"]
    reproducibility_c: Annotated[Measured | None, "reproducibility limit R here, °C"]
    precision_note: Annotated[str | None, "equation, product kind, range; or why there is none"]
    uncertainty_note: Annotated[str | None, "measurement uncertainty, or why it is not stated"]
    deviations: Annotated[list[str], "what was not done as the method is written"]
    warnings: Annotated[list[str], "what the reader must know"]
    state: Annotated[Literal["released", "held"], "only a released result is reported"]


class Conformity(TypedDict):
    """Whether the limit is met."""

    limit: Annotated[str, "the limit, with operator and unit"]
    conforms: Annotated[bool, "whether it is met"]
    rule: Annotated[str, "decision rule applied"]
    words: NotRequired[Annotated[list[str], "the decision in words, with its chance and risk"]]
    notes: NotRequired[Annotated[list[str], "cautions"]]


class Source(TypedDict):
    """Where a number comes from."""

    value_of: Annotated[str, "which value"]
    source: Annotated[str, "its source"]
    known: Annotated[str, "read, package, memory, common practice or user"]


class InputUsed(TypedDict):
    """A piece of evidence that a regime looked at."""

    what: Annotated[str, "what it is"]
    name: Annotated[str, "its name among the properties on record"]
    value: Annotated[str, "its value with unit"]
    method: NotRequired[Annotated[str, "how it was determined, where it is on record"]]
    determined_on: NotRequired[Annotated[str, "when, where it is on record"]]


class Chance(TypedDict):
    """The chance that the true flash point lies where a class is given."""

    classification: Annotated[str, "class or category"]
    probability: Annotated[Measured, "from 0 to 1"]


class Classification(TypedDict):
    """What the result means under one regime."""

    regime: Annotated[str, "regime"]
    classification: Annotated[str | None, "class or category; null: cannot be decided"]
    inputs: NotRequired[Annotated[list[InputUsed], "evidence that was known and looked at"]]
    clause: Annotated[str | None, "clause of the regime"]
    edition: Annotated[str | None, "edition of the regime"]
    rule: Annotated[str, "the rule in words"]
    margin_c: Annotated[Measured | None, "result minus nearest limit, °C, signed"]
    margin_r: NotRequired[Annotated[Measured | None, "the same in units of the method's R"]]
    chances: NotRequired[Annotated[list[Chance], "chance of each class, the likeliest first"]]
    missing: Annotated[list[str], "what would be needed to decide"]
    notes: Annotated[list[str], "notes"]
    indicative: Annotated[bool, "true: the regime does not accept this test method"]
    sources: Annotated[list[Source], "sources of the limits"]


class Signature(TypedDict):
    """A signature under the result: sealed in the chain, with what was signed."""

    by: Annotated[str, "id of the person who signed (see people)"]
    meaning: Annotated[Literal["performed", "reviewed", "approved"], "what the signature means"]
    signed_at: Annotated[str, "when, ISO 8601 with offset"]
    seal_number: Annotated[int, "number of the entry that was signed: the result's own"]
    seal: Annotated[str, "its seal, a hash of it and of all entries before it"]


class RegimeBandShown(TypedDict):
    """The flash points that one class covers, all other evidence equal."""

    classification: Annotated[str, "class or category"]
    severity: Annotated[Measured, "1 for the most severe class of the regime, 0 for the least"]
    low_c: Annotated[Measured | None, "lower end at 101.3 kPa, °C; null: open"]
    high_c: Annotated[Measured | None, "upper end at 101.3 kPa, °C; null: open"]
    high_belongs: Annotated[bool, "whether the upper end itself belongs to the class"]
    high_limit: Annotated[str, "the upper end in the unit of the rule; empty: open"]


class RegimeShown(TypedDict):
    """One regime in the picture."""

    name: Annotated[str, "regime"]
    answer: Annotated[str, "what it answers, with the chance where one is known"]
    bands: Annotated[list[RegimeBandShown], "its classes from the lowest flash point up"]


class RegimesShown(TypedDict):
    """The regimes beside the result, as the picture draws them."""

    words: Annotated[str, "the result in words"]
    value_c: Annotated[Measured | None, "the result at 101.3 kPa, °C; null: no value"]
    low_c: Annotated[Measured | None, "lower end of its interval, °C; null: open or not known"]
    high_c: Annotated[Measured | None, "upper end of its interval, °C; null: open or not known"]
    lines: Annotated[list[RegimeShown], "one for each regime"]


class ClassificationRefused(TypedDict):
    """Why no classification is given."""

    what: Annotated[str, "why"]
    fix: Annotated[str, "what would make it possible"]


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
