"""The record of a report: what the result means, by which evidence and which source."""

from typing import Annotated, NotRequired, TypedDict

from closedcup.reports.shape import Measured


class ProcessBehind(TypedDict):
    """How the batches of a product spread, where that is on record."""

    mean_c: Annotated[Measured, "mean at 101.3 kPa, °C"]
    standard_c: Annotated[Measured, "standard deviation, °C"]
    words: Annotated[str, "what it was found from"]


class Conformity(TypedDict):
    """Whether the limit is met."""

    limit: Annotated[str, "the limit, with operator and unit"]
    conforms: Annotated[bool, "whether it is met"]
    rule: Annotated[str, "decision rule applied"]
    agreed_rule: NotRequired[Annotated[str, "the rule as it was agreed"]]
    result_c: NotRequired[Annotated[Measured, "the result compared, at 101.3 kPa, °C"]]
    acceptance_limit_c: NotRequired[Annotated[Measured, "nearest end of acceptance, °C"]]
    acceptance_low_c: NotRequired[Annotated[Measured | None, "where acceptance begins, °C"]]
    acceptance_high_c: NotRequired[Annotated[Measured | None, "where acceptance ends, °C"]]
    guard_band_c: NotRequired[Annotated[Measured, "inwards; negative: tolerance, °C"]]
    probability_conforming: NotRequired[
        Annotated[Measured | None, "of the true value meeting the limits; null: not known"]
    ]
    risk: NotRequired[Annotated[Measured | None, "chance that the decision is wrong"]]
    process: NotRequired[Annotated[ProcessBehind | None, "null: not on record"]]
    probability_with_process: NotRequired[
        Annotated[Measured | None, "the probability with what is known of the process"]
    ]
    global_consumer_risk: NotRequired[
        Annotated[Measured | None, "share of all batches: accepted though failing"]
    ]
    global_producer_risk: NotRequired[
        Annotated[Measured | None, "share of all batches: rejected though conforming"]
    ]
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


class EvidenceShown(TypedDict):
    """A property of the sample on record when the report was issued."""

    name: Annotated[str, "its name, as `closedcup evidence` takes it"]
    value: Annotated[str, "its value with unit"]
    method: Annotated[str, "how it was determined; empty: not on record"]
    determined_on: Annotated[str, "when, ISO 8601; empty: not on record"]


class Chance(TypedDict):
    """The chance that the true flash point lies where a class is given."""

    classification: Annotated[str, "class or category"]
    probability: Annotated[Measured, "from 0 to 1"]


class Classification(TypedDict):
    """What the result means under one regime."""

    regime: Annotated[str, "regime"]
    classification: Annotated[str | None, "class or category; null: cannot be decided"]
    inputs: NotRequired[Annotated[list[InputUsed], "evidence that was known and looked at"]]
    statement: NotRequired[Annotated[str, "the answer as printed"]]
    hazard_statement: NotRequired[Annotated[str, "hazard statement; empty: none"]]
    clause: Annotated[str | None, "clause of the regime"]
    edition: Annotated[str | None, "edition of the regime"]
    in_force: NotRequired[Annotated[str, "from when it is in force, ISO 8601; empty: not stated"]]
    rule: Annotated[str, "the rule in words"]
    margin_c: Annotated[Measured | None, "result minus nearest limit, °C, signed"]
    margin_r: NotRequired[Annotated[Measured | None, "the same in units of the method's R"]]
    chances: NotRequired[Annotated[list[Chance], "chance of each class, the likeliest first"]]
    nearest_limit: NotRequired[Annotated[str, "the limit nearest to the result"]]
    rounded_classification: NotRequired[
        Annotated[str, "what the rounded result would read; empty: the same"]
    ]
    method_accepted: NotRequired[Annotated[bool | None, "whether it takes a result by this method"]]
    provided: NotRequired[Annotated[list[str], "conditions supposed that nobody has confirmed"]]
    evidence_would_change: NotRequired[Annotated[list[str], "evidence that would change it"]]
    missing: Annotated[list[str], "what would be needed to decide"]
    notes: Annotated[list[str], "notes"]
    indicative: Annotated[bool, "true: the regime does not accept this test method"]
    sources: Annotated[list[Source], "sources of the limits"]


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
