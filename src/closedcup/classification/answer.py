"""The answer of one regime."""

from dataclasses import dataclass

from closedcup.sources import Known


@dataclass(frozen=True, slots=True)
class SourceUse:
    """What a source was used for, the source in words, and how it is known."""

    value_of: str
    source: str
    known: Known

    def as_json(self) -> dict[str, str]:
        """Return the entry of `sources`."""
        return {"value_of": self.value_of, "source": self.source, "known": self.known}


@dataclass(frozen=True, slots=True)
class Input:
    """A piece of evidence that was looked at: what it is, its name on record, its value."""

    what: str
    name: str
    value: str

    def as_json(self) -> dict[str, str]:
        """Return the entry of `inputs`."""
        return {"what": self.what, "name": self.name, "value": self.value}


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance that the true flash point lies where a class is given."""

    classification: str
    probability: float

    def as_json(self) -> dict[str, object]:
        """Return the entry of `chances`."""
        return {"classification": self.classification, "probability": self.probability}


@dataclass(frozen=True, slots=True)
class Answer:
    """What one regime makes of a flash point.

    `classification` is short and fixed ("Category 3", "PG II", "Not D001"; "Category 1 or 2"
    where the evidence leaves it open), `statement` the same in the regime's words. `inputs` is the
    evidence that was known of what the rows ask, up to the one that decides.
    `margin_c` is the flash point minus the nearest limit at which this answer changes, all other
    evidence equal (`nearest_limit`, with its operator and unit); None where the flash point is
    only known to lie on one side of something. `margin_r` is the same in units of the method's
    reproducibility, `chances` that of each class from the standard uncertainty; both stay empty
    where these are not known. `rounded_classification` is what the rounded result would read,
    where that differs; it never decides. `method_accepted` says whether the regime takes a result
    by this method; None where the method is not stated. `indicative` marks an answer from a test
    method that the regime does not name, or from a calculation. `provided` lists conditions that
    the answer supposes and nobody has confirmed; `missing` the evidence that is lacking.
    """

    regime: str
    classification: str
    statement: str
    hazard_statement: str
    inputs: tuple[Input, ...]
    clause: str
    edition: str
    in_force: str
    rule: str
    margin_c: float | None
    margin_r: float | None
    nearest_limit: str
    chances: tuple[Chance, ...]
    rounded_classification: str
    method_accepted: bool | None
    indicative: bool
    provided: tuple[str, ...]
    missing: tuple[str, ...]
    evidence_would_change: tuple[str, ...]
    notes: tuple[str, ...]
    sources: tuple[SourceUse, ...]

    def as_json(self) -> dict[str, object]:
        """Return the object printed with `--json`."""
        return {
            "regime": self.regime,
            "classification": self.classification,
            "statement": self.statement,
            "hazard_statement": self.hazard_statement,
            "inputs": [one.as_json() for one in self.inputs],
            "clause": self.clause,
            "edition": self.edition,
            "in_force": self.in_force,
            "rule": self.rule,
            "margin_c": self.margin_c,
            "margin_r": self.margin_r,
            "nearest_limit": self.nearest_limit,
            "chances": [chance.as_json() for chance in self.chances],
            "rounded_classification": self.rounded_classification,
            "method_accepted": self.method_accepted,
            "indicative": self.indicative,
            "provided": list(self.provided),
            "missing": list(self.missing),
            "evidence_would_change": list(self.evidence_would_change),
            "notes": list(self.notes),
            "sources": [source.as_json() for source in self.sources],
        }
