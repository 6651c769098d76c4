"""Run the evidence through a decision table: which row decides, and what stays open."""

from collections.abc import Iterable
from dataclasses import dataclass

from closedcup.classification.conditions import Condition, Truth
from closedcup.classification.evidence import LABELS, Evidence
from closedcup.classification.tables import Regime, Row
from closedcup.errors import Damaged

# Evidence that is about the sample's place in the rules rather than measured on it.
_CIRCUMSTANCES = frozenset({"flash", "boiling", "mode", "receptacle_l"})
_ONLY_FLASH = frozenset({LABELS["flash"]})


@dataclass(frozen=True, slots=True)
class OpenRow:
    """A row that did not apply for want of evidence."""

    row: Row
    lacking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One deciding row, or several between which the evidence does not decide."""

    rows: tuple[Row, ...]
    undecided: tuple[str, ...]
    open_rows: tuple[OpenRow, ...]
    provided: tuple[str, ...]
    notes: tuple[Row, ...]

    @property
    def classes(self) -> frozenset[str]:
        """The classes that the evidence allows."""
        return frozenset(row.classification for row in self.rows)


def _all_hold(conditions: Iterable[Condition], evidence: Evidence) -> Truth:
    truths = [condition.holds(evidence) for condition in conditions]
    if False in truths:
        return False
    return None if None in truths else True


def _is_given(condition: Condition, evidence: Evidence) -> bool:
    """Say whether there is evidence on a condition, even if a bracket leaves it open."""
    return condition.holds(evidence) is not None or condition.flash_limit(evidence) is not None


def _lacking(row: Row, evidence: Evidence) -> tuple[str, ...]:
    given = (condition for condition in row.if_given if _is_given(condition, evidence))
    labels = (
        LABELS["flash" if condition.flash_limit(evidence) is not None else condition.quantity]
        for condition in (*row.when, *given)
        if condition.holds(evidence) is None
    )
    return tuple(dict.fromkeys(labels))


def _row_holds(row: Row, evidence: Evidence) -> Truth:
    if any(_all_hold(proviso.conditions, evidence) is False for proviso in row.provided):
        return False
    given = (condition for condition in row.if_given if _is_given(condition, evidence))
    return _all_hold((*row.when, *given), evidence)


def _is_begun(row: Row, evidence: Evidence) -> bool:
    """Say whether some of the evidence peculiar to a row is there."""
    return any(
        condition.holds(evidence) is True
        for condition in row.when
        if condition.quantity not in _CIRCUMSTANCES
    )


def run_table(regime: Regime, evidence: Evidence) -> Outcome:
    """Return what the regime's rows make of the evidence, first row first.

    A row that the evidence leaves open takes part in the answer if it is a base row, or if only
    the flash point's value is lacking; as relief or special case without its own evidence it
    does not apply, and is kept with what it lacks.
    Raises Damaged where no row decides: the table is incomplete.
    """
    candidates: list[Row] = []
    undecided: list[str] = []
    open_rows: list[OpenRow] = []
    for row in regime.rows:
        truth = False if row.kind == "note" else _row_holds(row, evidence)
        if truth is False:
            continue
        lacking = _lacking(row, evidence)
        if truth is None and row.kind != "base" and set(lacking) != _ONLY_FLASH:
            open_rows.append(OpenRow(row, lacking))
            continue
        candidates.append(row)
        undecided.extend(lacking)
        if truth is True:
            break
    else:
        raise Damaged("table-incomplete", "No row decides.", where=regime.name)
    last = candidates[-1]
    several = len({row.classification for row in candidates}) > 1
    return Outcome(
        rows=tuple(candidates) if several else (last,),
        undecided=tuple(dict.fromkeys(undecided)) if several else (),
        open_rows=tuple(open_row for open_row in open_rows if open_row.row != last),
        provided=tuple(
            proviso.words
            for proviso in last.provided
            if _all_hold(proviso.conditions, evidence) is None
        ),
        notes=tuple(
            row for row in regime.rows if row.kind == "note" and _row_holds(row, evidence) is True
        ),
    )


def class_words(regime: Regime, classes: Iterable[str]) -> str:
    """Write the classes in the regime's order: "Category 3", "Category 1 or 2", "PG I or II"."""
    ordered = sorted(set(classes), key=regime.classes.index)
    stem, _, _ = ordered[0].rpartition(" ")
    rest = [word.removeprefix(f"{stem} ") if stem else word for word in ordered[1:]]
    return " or ".join([ordered[0], *rest])


def missing_evidence(outcome: Outcome, evidence: Evidence) -> tuple[str, ...]:
    """Return what is lacking: for a decision, and for relief that could be given."""
    relief = (
        label
        for open_row in outcome.open_rows
        if open_row.row.kind == "relief"
        and open_row.row.classification not in outcome.classes
        and (open_row.row.asked or _is_begun(open_row.row, evidence))
        for label in open_row.lacking
    )
    return tuple(dict.fromkeys((*outcome.undecided, *relief)))


def changing_evidence(regime: Regime, outcome: Outcome) -> tuple[str, ...]:
    """Say in words what evidence would change the answer, and to what."""
    sentences: dict[tuple[str, str], list[str]] = {}
    product_rules: list[str] = []
    for open_row in outcome.open_rows:
        row = open_row.row
        if outcome.classes == {row.classification} or set(open_row.lacking) <= set(
            outcome.undecided
        ):
            continue
        if LABELS["product"] in open_row.lacking:
            product_rules.append(row.subject)
        else:
            key = (f"{row.subject} ({row.clause})", row.classification)
            sentences.setdefault(key, []).extend(open_row.lacking)
    changes = [
        f"{subject}: {classification}; needs {', '.join(dict.fromkeys(lacking))}"
        for (subject, classification), lacking in sentences.items()
    ]
    if product_rules:
        changes.append(f"product kind: other rules for {'; '.join(dict.fromkeys(product_rules))}")
    if outcome.undecided:
        words = class_words(regime, outcome.classes)
        changes.insert(0, f"{', '.join(outcome.undecided)} would decide: {words}")
    return tuple(changes)
