"""Which test methods count, and when a result has to be confirmed."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from closedcup.classification.answer import SourceUse
from closedcup.classification.evidence import Evidence
from closedcup.classification.tables import Regime, bibliography
from closedcup.errors import InputError, Refused
from closedcup.methods import methods
from closedcup.sources import load_rows


@dataclass(frozen=True, slots=True)
class TestMethod:
    """A test method as far as classification needs it."""

    method_id: str
    designation: str
    closed_cup: bool
    equilibrium: bool


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Whether the answer is only indicative, and the notes and sources that say why."""

    indicative: bool
    notes: tuple[str, ...]
    sources: tuple[SourceUse, ...]


@cache
def test_methods() -> Mapping[str, TestMethod]:
    """Return the methods of the catalogue, and the others that regimes name or must tell apart."""
    others = load_rows(files(__package__) / "data" / "other_test_methods.csv", bibliography())
    on_file = [
        TestMethod(
            method.id,
            f"{method.designation} {method.procedure_letter}".strip(),
            method.is_closed_cup,
            method.is_equilibrium,
        )
        for method in methods()
    ]
    on_file.extend(
        TestMethod(
            row["id"], row["designation"], row["cup"] == "closed", row["equilibrium"] == "yes"
        )
        for row in others
    )
    return {method.method_id: method for method in on_file}


def require_closed_cup(method_id: str | None) -> None:
    """Raise Refused for an open cup, InputError for a method that is not on file."""
    if method_id is None:
        return
    method = test_methods().get(method_id)
    if method is None:
        near = difflib.get_close_matches(method_id, test_methods(), n=1)
        meant = f"Did you mean “{near[0]}”? " if near else ""
        raise InputError(
            "unknown-method",
            f"“{method_id}” is not a test method on file.",
            where="method",
            fix=f"{meant}There are: {', '.join(test_methods())}.",
        )
    if not method.closed_cup:
        raise Refused(
            "open-cup",
            f"{method.designation} is an open cup; every limit here is a closed-cup limit.",
            where="method",
            fix="Determine the closed-cup flash point; the two are not converted.",
        )


def _confirmation_note(regime: Regime, method: TestMethod, evidence: Evidence) -> str:
    rule = regime.confirmation
    if rule is None or method.equilibrium or evidence.flash_c is None:
        return ""
    for limit in rule.limits:
        if round(abs(evidence.flash_c - limit.c) - rule.within_c, 6) <= 0:
            return (
                f"Confirm by an equilibrium method: {method.designation} is not one, and the "
                f"result lies within {rule.within_c:g} °C of {limit} ({rule.clause})."
            )
    return ""


def acceptance(regime: Regime, evidence: Evidence) -> Acceptance:
    """Judge the test method of a result against those that the regime names."""
    if evidence.method_id is None:
        note = "The test method is not stated; it was not held against those of the regime."
        return Acceptance(indicative=False, notes=(note,), sources=())
    method = test_methods()[evidence.method_id]
    named = regime.methods
    sources = [named.source_use]
    notes = []
    indicative = method.method_id not in named.method_ids
    if indicative:
        notes.append(
            f"Indicative: {method.designation} is not a test method that {regime.name} names."
        )
    if named.remark:
        notes.append(named.remark)
    confirmation = _confirmation_note(regime, method, evidence)
    if confirmation and regime.confirmation:
        notes.append(confirmation)
        sources.append(regime.confirmation.source_use)
    return Acceptance(indicative=indicative, notes=tuple(notes), sources=tuple(sources))
