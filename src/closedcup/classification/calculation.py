"""What a calculated flash point may do: it is not a test result and lowers no class by itself."""

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from closedcup.classification.answer import SourceUse
from closedcup.classification.evidence import Evidence
from closedcup.classification.outcome import Outcome, run_table
from closedcup.classification.tables import Regime, source_use
from closedcup.quantities import parse_difference


@dataclass(frozen=True, slots=True)
class CalculationRule:
    """The margin above a limit that a calculation needs, who accepts it, and what it supposes."""

    margin_c: float
    accepted_by: frozenset[str]
    provided: tuple[str, ...]
    clause: str
    source_use: SourceUse


@cache
def calculation_rule() -> CalculationRule:
    """Return the rule on file."""
    file = files(__package__) / "data" / "calculation.toml"
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    return CalculationRule(
        margin_c=parse_difference(table["margin"]).c,
        accepted_by=frozenset(table["accepted_by"]),
        provided=tuple(table["provided"]),
        clause=table["clause"],
        source_use=source_use(f"calculated flash point: {table['clause']}", table, file.name),
    )


def run_table_for_calculated(regime: Regime, evidence: Evidence) -> Outcome:
    """Return the outcome with the more severe class added where the margin is too small.

    A calculated flash point less than the margin above a limit does not leave the class below
    that limit: both stay open until it is measured.
    """
    at_value = run_table(regime, evidence)
    if evidence.flash_c is None:
        return at_value
    lower = replace(evidence, flash_c=evidence.flash_c - calculation_rule().margin_c)
    at_margin = run_table(regime, lower)
    if at_margin.classes <= at_value.classes:
        return at_value
    return replace(
        at_value,
        rows=tuple(dict.fromkeys((*at_margin.rows, *at_value.rows))),
        undecided=tuple(
            dict.fromkeys(("measured flash point", *at_margin.undecided, *at_value.undecided))
        ),
    )


def calculation_notes(regime: Regime, outcome: Outcome) -> tuple[str, ...]:
    """Say what the calculation is worth under this regime."""
    rule = calculation_rule()
    notes = ["Indicative: calculated, not a test result."]
    if "measured flash point" in outcome.undecided:
        notes.append(
            f"Less than {rule.margin_c:g} °C above the limit: a calculation may not decide; "
            f"test experimentally ({rule.clause})."
        )
    elif regime.name not in rule.accepted_by:
        notes.append(f"{regime.name} has no rule on file that accepts a calculated flash point.")
    return tuple(notes)
