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
    low_c: float | None = None
    high_c: float | None = None


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Whether the answer is only indicative, and the notes and sources that say why.

    `accepted` says whether the regime names the test method; None where none is stated.
    """

    indicative: bool
    accepted: bool | None
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
            method.low_c,
            method.high_c,
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


def _confirmation_note(
    regime: Regime, method: TestMethod, evidence: Evidence, *, good_practice: bool
) -> str:
    rule = regime.confirmation
    if rule is None or method.equilibrium or evidence.flash_c is None:
        return ""
    if not (rule.binding or good_practice):
        return ""
    asks = "Confirm by" if rule.binding else "Good practice: confirm by"
    for limit in rule.limits:
        if round(abs(evidence.flash_c - limit.c) - rule.within_c, 6) <= 0:
            return (
                f"{asks} an equilibrium method: {method.designation} is not one, and the "
                f"result lies within {rule.within_c:g} °C of {limit} ({rule.clause})."
            )
    return ""


def _is_viscous(evidence: Evidence) -> bool:
    return evidence.viscosity_mm2_s is not None or evidence.flow_time_s is not None


def _method_faults(regime: Regime, method: TestMethod, evidence: Evidence) -> list[str]:
    """Say why a result by this method only indicates where the sample stands."""
    named = regime.methods
    faults = []
    if method.method_id not in named.method_ids:
        faults.append(
            f"Indicative: {method.designation} is not a test method that {regime.name} names."
        )
    elif (
        named.viscous is not None
        and _is_viscous(evidence)
        and method.method_id not in named.viscous.method_ids
    ):
        faults.append(
            f"Indicative: {method.designation} is not among the methods for viscous liquids "
            f"({named.viscous.source_use.value_of})."
        )
    flash_c = evidence.flash_c
    if flash_c is not None and (
        (method.low_c is not None and flash_c < method.low_c)
        or (method.high_c is not None and flash_c > method.high_c)
    ):
        faults.append(
            f"Indicative: {flash_c:g} °C lies outside the range of {method.designation}; a regime "
            "takes a method inside its own range only."
        )
    return faults


def acceptance(regime: Regime, evidence: Evidence, *, good_practice: bool = True) -> Acceptance:
    """Judge the test method of a result against those that the regime names.

    `good_practice` asks for an equilibrium confirmation near a limit also where only good
    practice does.
    """
    if evidence.method_id is None:
        note = "The test method is not stated; it was not held against those of the regime."
        return Acceptance(indicative=False, accepted=None, notes=(note,), sources=())
    method = test_methods()[evidence.method_id]
    named = regime.methods
    sources = [named.source_use]
    notes = _method_faults(regime, method, evidence)
    indicative = bool(notes)
    if not indicative and method.method_id in named.editions:
        notes.append(
            f"{regime.name} names {named.editions[method.method_id]}; state on the report which "
            "edition was followed."
        )
    if named.remark:
        notes.append(named.remark)
    confirmation = _confirmation_note(regime, method, evidence, good_practice=good_practice)
    if confirmation and regime.confirmation:
        notes.append(confirmation)
        sources.append(regime.confirmation.source_use)
    return Acceptance(
        indicative=indicative, accepted=not indicative, notes=tuple(notes), sources=tuple(sources)
    )
