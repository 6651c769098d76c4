"""List the test methods and explain one: steps, numbers, precision, repeats, editions, cautions.

`lookup` finds a method by its identifier: as published, or as a laboratory has confirmed it.
"""

from typing import Any

from closedcup.app.usecases.methods.citing import in_words
from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.methods import (
    PROCEDURES,
    Method,
    Statement,
    cautions_of,
    method,
    methods,
    numbers_of,
    repeat_rule,
)

Answer = dict[str, Any]

# The clauses of a method in the order in which they are met at the bench.
_STEPS = (
    "scope", "specimen", "start", "loading", "dwell", "ramp", "interval", "once", "coarse", "fine",
    "half", "confirmation", "reversal", "first", "burning", "flash", "repeats", "masking",
)  # fmt: skip


def method_summary(chosen: Method) -> Answer:
    """Return one line about a method for the list."""
    return {
        "id": chosen.id,
        "name": chosen.name,
        "kind": chosen.kind,
        "test": chosen.test,
        "is_equilibrium": chosen.is_equilibrium,
        "low_c": chosen.low_c,
        "high_c": chosen.high_c,
        "specimen_ml": [rule.volume.value for rule in chosen.specimens],
        "guided": chosen.guided,
        "confirmed": chosen.confirmed,
    }


def all_methods(lookup: MethodLookup = method) -> list[Answer]:
    """Return the methods that the program knows."""
    known = [lookup(each.id) for each in methods()]
    return [{**method_summary(each), "sources": in_words(each.sources())} for each in known]


def one_method(method_id: str, lookup: MethodLookup = method) -> Answer:
    """Explain one method: its numbers with their sources, clauses, precision and editions."""
    chosen = lookup(method_id)
    return {
        **method_summary(chosen),
        "designation": chosen.designation,
        "procedure": PROCEDURES.get(chosen.procedure),
        "steps": [
            {"step": step, **_said(chosen.clauses[step])}
            for step in _STEPS
            if step in chosen.clauses
        ],
        "flash_called_by": chosen.flash_called_by,
        "automatic_only": chosen.automatic_only,
        "equivalents": list(chosen.equivalents),
        "numbers": [
            {
                "name": one.name,
                "words": one.words,
                "value": one.cited.value,
                "unit": one.cited.unit,
                **_origin(one.cited),
            }
            for one in numbers_of(chosen)
        ],
        "specimens": [
            {
                "products": sorted(rule.products),
                "up_to_cup_c": None if rule.up_to_cup is None else rule.up_to_cup.value,
                "volume_ml": rule.volume.value,
                "fill": rule.fill,
                "dwell_s": None if rule.dwell is None else rule.dwell.value,
            }
            for rule in chosen.specimens
        ],
        "precision": [
            {
                "products": sorted(rule.products),
                "low_c": rule.low_c,
                "high_c": rule.high_c,
                "repeatability": rule.repeatability.formula,
                "reproducibility": None
                if rule.reproducibility is None
                else rule.reproducibility.formula,
                "note": rule.note,
            }
            for rule in chosen.precision
        ],
        "repeats": repeat_rule(chosen).words,
        "not_for": [statement.text for statement in chosen.not_for],
        "cautions": [caution.text for caution in cautions_of(chosen.procedure)],
        "report": list(chosen.report),
        "editions": [
            {"name": each.name, "changed": each.changed, "known": each.known}
            for each in chosen.editions
        ],
        "sources": in_words(chosen.sources()),
    }


def _said(statement: Statement) -> Answer:
    (entry,) = in_words([{"source": statement.source, "known": statement.known}])
    return {"text": statement.text, **entry}


def _origin(cited: Any) -> Answer:
    return {"source": cited.source, "clause": cited.clause, "known": cited.known}
