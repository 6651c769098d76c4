"""The record of a report: sample, requested test, start, apparatus, determinations, result."""

from typing import Annotated, Literal, NotRequired, TypedDict

from closedcup.reports.shape import Measured


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
    entered_by: NotRequired[Annotated[str, "id of the person who entered it"]]
    recorded_at: NotRequired[Annotated[str, "when it was entered, ISO 8601 with offset"]]
    dwell_s: NotRequired[Annotated[Measured | None, "time in the cup, s; null: does not arise"]]
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
