"""A laboratory's check of a method's numbers against its own licensed copy, laid over the data."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from closedcup.errors import InputError
from closedcup.methods.numbers import MEANINGS
from closedcup.methods.published_method import (
    Edition,
    IntervalRule,
    Method,
    PrecisionRule,
    PrecisionTerm,
    SpecimenRule,
)
from closedcup.sources import Cited

OWN_COPY: Final = "own-copy"  # the key of the laboratory's own copy among the sources
# Decisions of the program, which no copy holds.
_PROGRAM: Final = frozenset(
    {"hold_tolerance", "recording_allowance", "recovery_below", "restart_drop", "reversal"}
)
_SHARED: Final = frozenset({"correction_per_kpa"})  # one number for all methods
_SAME: Final = 1e-9

_Change = Callable[[str, str, Cited], Cited]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One number of a method that a laboratory checks, by its name."""

    name: str
    words: str
    cited: Cited


@dataclass(frozen=True, slots=True)
class Confirmation:
    """What the laboratory's own copy says for one number: clause, edition, who and when."""

    method: str
    number: str
    value: float
    unit: str
    clause: str
    edition: str
    by: str = ""
    confirmed_at: str = ""


def differs(one: float, other: float) -> bool:
    """Say whether two numbers of a method are not the same."""
    return not math.isclose(one, other, rel_tol=_SAME, abs_tol=_SAME)


def numbers_of(method: Method) -> tuple[Parameter, ...]:
    """Return every number of a method by its name, with words."""
    found: list[Parameter] = []

    def note(name: str, words: str, cited: Cited) -> Cited:
        found.append(Parameter(name, words, cited))
        return cited

    _rewritten(method, note)
    return tuple(found)


def parameters(method: Method) -> tuple[Parameter, ...]:
    """Return every number to be checked once; what the program decides itself is left out."""
    return tuple(one for one in numbers_of(method) if one.name not in _PROGRAM)


def check_confirmation(method: Method, confirmation: Confirmation) -> Parameter:
    """Return the parameter that is confirmed; InputError where the confirmation cannot be right."""
    known = {one.name: one for one in parameters(method)}
    where = f"{method.id}, {confirmation.number}"
    if confirmation.number not in known:
        raise InputError(
            "parameter-unknown",
            f"{method.designation} has no number “{confirmation.number}” to confirm.",
            where=where,
            fix=f"Its numbers: {', '.join(known) or 'none are on file'}.",
        )
    asked = known[confirmation.number].cited
    if confirmation.unit != asked.unit:
        raise InputError(
            "parameter-unit",
            f"“{confirmation.number}” is in {asked.unit}, not {confirmation.unit}.",
            where=where,
            fix=f"Give it as “{asked.value:g} {asked.unit}”.",
        )
    if not confirmation.edition.strip() or not confirmation.clause.strip():
        raise InputError(
            "clause-missing",
            "A confirmation names the edition and the clause that were read.",
            where=where,
        )
    changed = differs(confirmation.value, asked.value)
    impossible = not math.isfinite(confirmation.value) or (
        asked.value > 0 >= confirmation.value and not confirmation.number.startswith("range_")
    )
    if impossible or (changed and confirmation.number in _SHARED):
        raise InputError(
            "parameter-impossible",
            f"{confirmation.value:g} {asked.unit} cannot be used for “{confirmation.number}”.",
            where=where,
            fix="Look again in your copy. The pressure correction is one number for all methods."
            if confirmation.number in _SHARED
            else "Look again in your copy.",
        )
    return known[confirmation.number]


def with_confirmations(method: Method, confirmations: Mapping[str, Confirmation]) -> Method:
    """Lay a laboratory's confirmations over a method.

    A number that differs in the laboratory's copy is taken from there (known: user). The method is
    confirmed when every one of its numbers has been checked.
    """
    if not confirmations:
        return method

    def lay(name: str, _: str, cited: Cited) -> Cited:
        read = confirmations.get(name)
        if read is None:
            return cited
        clause = f"{read.edition}, {read.clause}"
        if not differs(read.value, cited.value):
            checked = f"checked against {clause}"
            return replace(cited, clause=f"{cited.clause}; {checked}" if cited.clause else checked)
        return Cited(read.value, cited.unit, OWN_COPY, "user", clause)

    names = {one.name for one in parameters(method)}
    last = max(confirmations.values(), key=lambda one: one.confirmed_at)
    own = Edition(last.edition, "the laboratory's own copy", OWN_COPY, "user")
    confirmed = bool(names) and names <= set(confirmations)
    return replace(
        _rewritten(method, lay),
        confirmed=confirmed,
        editions=(own, *method.editions) if confirmed else method.editions,
    )


# --- one way through all the numbers of a method -------------------------------------------------


def _rewritten(method: Method, change: _Change) -> Method:
    return replace(
        method,
        numbers={
            name: change(name, MEANINGS[name].words, cited)
            for name, cited in method.numbers.items()
        },
        specimens=tuple(
            _specimen(f"specimen-{place}", rule, change)
            for place, rule in enumerate(method.specimens, 1)
        ),
        intervals=tuple(
            _interval(f"interval-{place}", rule, change)
            for place, rule in enumerate(method.intervals, 1)
        ),
        precision=tuple(
            _precision(f"precision-{place}", rule, change)
            for place, rule in enumerate(method.precision, 1)
        ),
    )


def _specimen(name: str, rule: SpecimenRule, change: _Change) -> SpecimenRule:
    of = f" ({', '.join(sorted(rule.products))})" if rule.products else ""
    return replace(
        rule,
        up_to_cup=_maybe(f"{name}.up_to_cup", f"this specimen up to{of}", rule.up_to_cup, change),
        volume=change(f"{name}.volume", f"specimen{of}", rule.volume),
        volume_tolerance=_maybe(
            f"{name}.volume_tolerance", f"specimen may differ by{of}", rule.volume_tolerance, change
        ),
        dwell=_maybe(f"{name}.dwell", f"dwell{of}", rule.dwell, change),
    )


def _interval(name: str, rule: IntervalRule, change: _Change) -> IntervalRule:
    return replace(
        rule,
        interval=change(f"{name}.interval", "igniter applied every", rule.interval),
        up_to_cup=_maybe(f"{name}.up_to_cup", "this interval below", rule.up_to_cup, change),
        up_to_expected=_maybe(
            f"{name}.up_to_expected", "this interval up to an expected", rule.up_to_expected, change
        ),
        below_expected=_maybe(
            f"{name}.below_expected", "this interval below an expected", rule.below_expected, change
        ),
        rate=_maybe(f"{name}.rate", "heating rate there", rule.rate, change),
    )


def _maybe(name: str, words: str, cited: Cited | None, change: _Change) -> Cited | None:
    return None if cited is None else change(name, words, cited)


def _precision(name: str, rule: PrecisionRule, change: _Change) -> PrecisionRule:
    of = ", ".join(sorted(rule.products))
    reproducibility = rule.reproducibility
    return replace(
        rule,
        low=_maybe(f"{name}.low", f"precision of {of} from", rule.low, change),
        high=_maybe(f"{name}.high", f"precision of {of} to", rule.high, change),
        repeatability=_term(f"{name}.r", f"r of {of}", rule.repeatability, change),
        reproducibility=None
        if reproducibility is None
        else _term(f"{name}.R", f"R of {of}", reproducibility, change),
    )


def _term(name: str, words: str, term: PrecisionTerm, change: _Change) -> PrecisionTerm:
    """Rewrite the numbers of an equation; it is known as its least well known number is."""

    def part(which: str, value: float, unit: str) -> Cited:
        cited = Cited(value, unit, term.source, term.known, term.clause)
        return change(f"{name}.{which}", f"{words} = {term.formula}: {which}", cited)

    constant = term.exponent == 0
    parts = {"factor": part("factor", term.factor, "degC" if constant else "1")}
    if term.offset:
        parts["offset"] = part("offset", term.offset, "degC")
    if term.exponent not in (0, 1):
        parts["exponent"] = part("exponent", term.exponent, "1")
    lead = next((one for one in parts.values() if one.known == "user"), parts["factor"])
    return replace(
        term,
        **{which: cited.value for which, cited in parts.items()},
        source=lead.source,
        known=lead.known,
        clause=lead.clause,
    )
