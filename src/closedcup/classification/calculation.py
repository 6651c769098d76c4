"""What a calculated flash point may do: it is not a test result and lowers no class by itself."""

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Final

from closedcup.classification.answer import SourceUse
from closedcup.classification.evidence import LABELS, Evidence
from closedcup.classification.outcome import Outcome, run_table
from closedcup.classification.tables import Regime, source_use
from closedcup.quantities import parse_difference

MEASURED: Final = "measured flash point"


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
    """Return the outcome for a flash point known only to lie above the calculated one less 5 °C.

    So a value less than the margin above a limit does not leave the class below that limit: both
    stay open until it is measured.
    """
    if evidence.flash_c is None:
        return run_table(regime, evidence)
    lowest_c = evidence.flash_c - calculation_rule().margin_c
    side = replace(evidence, flash_c=None, no_flash_at_c=lowest_c, flash_at_c=evidence.flash_c)
    outcome = run_table(regime, side)
    return replace(
        outcome,
        undecided=tuple(
            MEASURED if label == LABELS["flash"] else label for label in outcome.undecided
        ),
    )


def calculation_notes(regime: Regime, outcome: Outcome) -> tuple[str, ...]:
    """Say what the calculation is worth under this regime."""
    rule = calculation_rule()
    notes = ["Indicative: calculated, not a test result."]
    if MEASURED in outcome.undecided:
        notes.append(
            f"Less than {rule.margin_c:g} °C above the limit: a calculation may not decide; "
            f"test experimentally ({rule.clause})."
        )
    elif regime.name not in rule.accepted_by:
        notes.append(f"{regime.name} has no rule on file that accepts a calculated flash point.")
    return tuple(notes)


def missing_for_calculated(regime: Regime) -> tuple[str, ...]:
    """Ask for a measurement where no rule lets a calculation stand in for it."""
    return () if regime.name in calculation_rule().accepted_by else (MEASURED,)
