"""Classify a flash point: one answer for each regime."""

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import replace

from closedcup.classification.acceptance import Acceptance, acceptance, require_closed_cup
from closedcup.classification.answer import Answer, SourceUse
from closedcup.classification.bands import chances
from closedcup.classification.calculation import (
    calculation_notes,
    calculation_rule,
    missing_for_calculated,
    run_table_for_calculated,
)
from closedcup.classification.contradictions import refuse_contradictions
from closedcup.classification.evidence import Evidence, require_flash_point
from closedcup.classification.inputs import inputs_of
from closedcup.classification.margin import Margin, margin_to_nearest_limit
from closedcup.classification.outcome import (
    Outcome,
    changing_evidence,
    class_words,
    missing_evidence,
    run_table,
)
from closedcup.classification.products import product_groups
from closedcup.classification.regimes import find_regime, regimes
from closedcup.classification.tables import Regime, with_reading


def _words_at(regime: Regime, evidence: Evidence) -> str:
    return class_words(regime, run_table(regime, evidence).classes)


def _reading_notes(
    regime: Regime, evidence: Evidence, outcome: Outcome
) -> tuple[list[str], list[SourceUse]]:
    """Say where a limit that is printed in two ways gives two answers."""
    notes: list[str] = []
    sources: list[SourceUse] = []
    words = class_words(regime, outcome.classes)
    for reading in regime.printed_also:
        other_outcome = run_table(with_reading(regime, reading), evidence)
        other_words = class_words(regime, other_outcome.classes)
        limit, other = reading.limit, reading.other
        governs = f"{other} ({other.c:.2f} °C)" if other.unit != "degC" else f"{other}"
        found = []
        if other_words != words:
            found.append(f"{words} if {limit} governs; {other_words} if {governs} governs")
        rules = {note.rule for note in outcome.notes}
        found.extend(
            f"If {governs} governs instead of {limit}: {note.rule}"
            for note in other_outcome.notes
            if note.rule not in rules
        )
        if found:
            notes.extend(f"{text} (the rule is printed both ways)." for text in found)
            sources.append(reading.source_use)
    return notes, sources


def _rounded_words(regime: Regime, evidence: Evidence, words: str) -> str:
    """Return what the rounded result would read; empty where it reads the same."""
    if evidence.reported_c is None or evidence.flash_c is None or evidence.calculated:
        return ""
    rounded = _words_at(regime, replace(evidence, flash_c=evidence.reported_c))
    return "" if rounded == words else rounded


def _evidence_notes(regime: Regime, evidence: Evidence, words: str) -> list[str]:
    notes = []
    if rounded := _rounded_words(regime, evidence, words):
        notes.append(
            f"The unrounded {evidence.flash_c:.2f} °C decides ({words}); rounded to "
            f"{evidence.reported_c:g} °C it would read {rounded}."
        )
    if evidence.product and not product_groups(evidence.product) and _names_products(regime):
        notes.append(
            f"No rule names the product “{evidence.product}”: no rule for a product was applied."
        )
    if regime.supposed and any(one.holds(evidence) is None for one in regime.applies):
        notes.append(f"Applies only if {regime.supposed}; that is not on record.")
    low_c, high_c = evidence.flash_bracket()
    if evidence.flash_c is None:
        bounds = [
            *([f"above {low_c:g} °C"] if low_c > -math.inf else []),
            *([f"at or below {high_c:g} °C"] if high_c < math.inf else []),
        ]
        notes.append(
            f"The flash point is known only to lie {' and '.join(bounds)}; a test without a flash "
            "does not show that the liquid is not flammable."
        )
    if evidence.boiling_c is not None and evidence.boiling_c < low_c:
        notes.append(
            f"It is said to boil at {evidence.boiling_c:g} °C, below its flash point. Only a "
            "mixture whose light part does not burn can do that: check both results."
        )
    return notes


def _names_products(regime: Regime) -> bool:
    return any(
        condition.quantity == "product"
        for row in regime.rows
        for condition in (*row.when, *row.if_given)
    )


def _statement(outcome: Outcome, words: str) -> str:
    return outcome.rows[0].statement if len(outcome.rows) == 1 else f"{words}: not decided"


def _joined(words: Iterable[str], separator: str) -> str:
    return separator.join(dict.fromkeys(word for word in words if word))


def _judge_method(
    regime: Regime, evidence: Evidence, outcome: Outcome, *, good_practice: bool
) -> Acceptance:
    if not evidence.calculated:
        return acceptance(regime, evidence, good_practice=good_practice)
    return Acceptance(
        indicative=True,
        accepted=regime.name in calculation_rule().accepted_by,
        notes=calculation_notes(regime, outcome),
        sources=(calculation_rule().source_use,),
    )


def _provided(regime: Regime, evidence: Evidence, outcome: Outcome) -> tuple[str, ...]:
    rule = calculation_rule()
    accepts = regime.name in rule.accepted_by and len(outcome.rows) == 1
    return outcome.provided + (rule.provided if evidence.calculated and accepts else ())


def _missing(regime: Regime, evidence: Evidence, outcome: Outcome) -> tuple[str, ...]:
    lacking = missing_evidence(outcome, evidence)
    if evidence.calculated:
        lacking += missing_for_calculated(regime)
    return tuple(dict.fromkeys(lacking))


def _in_units_of_reproducibility(margin: Margin | None, evidence: Evidence) -> float | None:
    if margin is None or evidence.reproducibility_c is None:
        return None
    return round(margin.margin_c / evidence.reproducibility_c, 6)


def _answer(regime: Regime, evidence: Evidence, *, good_practice: bool) -> Answer:
    run = run_table_for_calculated if evidence.calculated else run_table
    outcome = run(regime, evidence)
    words = class_words(regime, outcome.classes)
    margin = margin_to_nearest_limit(regime, evidence)
    method = _judge_method(regime, evidence, outcome, good_practice=good_practice)
    reading_notes, reading_sources = _reading_notes(regime, evidence, outcome)
    provided = _provided(regime, evidence, outcome)
    rows, notes = outcome.rows, outcome.notes
    return Answer(
        regime=regime.name,
        classification=words,
        statement=_statement(outcome, words),
        hazard_statement=_joined((row.hazard_statement for row in rows), " or "),
        inputs=inputs_of(regime, evidence, outcome),
        clause=_joined((row.clause for row in rows), "; "),
        edition=regime.edition,
        in_force="" if regime.in_force is None else regime.in_force.isoformat(),
        rule=_joined((row.rule for row in rows), "; or: "),
        margin_c=None if margin is None else margin.margin_c,
        margin_r=_in_units_of_reproducibility(margin, evidence),
        chances=() if evidence.calculated else chances(regime, evidence),
        rounded_classification=_rounded_words(regime, evidence, words),
        method_accepted=method.accepted,
        nearest_limit="" if margin is None else str(margin.limit),
        indicative=method.indicative,
        provided=provided,
        missing=_missing(regime, evidence, outcome),
        evidence_would_change=changing_evidence(regime, outcome),
        notes=(
            *method.notes,
            *(f"{note.rule} ({note.clause})" for note in notes),
            *reading_notes,
            *_evidence_notes(regime, evidence, words),
            *(f"Provided that {proviso}." for proviso in provided),
        ),
        sources=tuple(
            dict.fromkeys(
                [*(row.source_use for row in (*rows, *notes)), *method.sources, *reading_sources]
            )
        ),
    )


def _require_answerable(evidence: Evidence) -> None:
    refuse_contradictions(evidence)
    require_flash_point(evidence)
    if not evidence.calculated:
        require_closed_cup(evidence.method_id)


def classify_regime(
    evidence: Evidence, regime: str, on: dt.date | None = None, *, good_practice: bool = True
) -> Answer:
    """Return one regime's answer, by the edition in force on a date (or the latest on file).

    The unrounded corrected flash point is compared with each limit in the unit of the rule.
    `good_practice` asks for an equilibrium confirmation near a limit also where the regime itself
    does not. Raises Refused (no flash to boiling, masked, halogenated, open cup, a date outside
    the editions on file) and InputError (no flash point, contradictory evidence, unknown method
    or regime).
    """
    _require_answerable(evidence)
    return _answer(find_regime(regime, on), evidence, good_practice=good_practice)


def in_question(
    evidence: Evidence, on: dt.date | None = None, *, all_on_file: bool = False
) -> tuple[Regime, ...]:
    """Return the regimes that the evidence puts in question, in the order of reports.

    One for a single product is left out unless the evidence names it; one that says what it
    supposes only where that is known not to hold. `all_on_file` adds those for old documents.
    """
    return tuple(
        regime
        for regime in regimes(on, all_on_file=all_on_file)
        if all(
            condition.holds(evidence) or (condition.holds(evidence) is None and regime.supposed)
            for condition in regime.applies
        )
    )


def classify(
    evidence: Evidence,
    on: dt.date | None = None,
    *,
    good_practice: bool = True,
    all_on_file: bool = False,
) -> tuple[Answer, ...]:
    """Return the answer of every regime that the evidence puts in question.

    Raises as `classify_regime` does.
    """
    _require_answerable(evidence)
    return tuple(
        _answer(regime, evidence, good_practice=good_practice)
        for regime in in_question(evidence, on, all_on_file=all_on_file)
    )
