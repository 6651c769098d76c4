"""Worked cases of every regime beside what the decision tables answer."""

import datetime as dt
from dataclasses import fields
from functools import cache
from importlib.resources import files
from typing import Any, Final, get_args, get_type_hints

from closedcup.app.validation.comparison import Comparison
from closedcup.classification import Answer, Evidence, classify_regime
from closedcup.classification.tables import bibliography, cite
from closedcup.errors import Refused
from closedcup.sources import load_rows, parse_known

_FUNCTION: Final = "classification.evaluate.classify_regime"


@cache
def _kinds() -> dict[str, type]:
    hints = get_type_hints(Evidence)
    return {
        field.name: next(iter(get_args(hints[field.name])), hints[field.name])
        for field in fields(Evidence)
    }


def _value(name: str, text: str) -> Any:
    kind = _kinds()[name]
    if kind is bool:
        return {"yes": True, "no": False}[text]
    return float(text) if kind is float else text


def _evidence(row: dict[str, str]) -> Evidence:
    given = {name: row[name] for name in _kinds() if row.get(name)}
    for pair in filter(None, row["other"].split(";")):
        name, _, text = pair.partition("=")
        given[name] = text
    return Evidence(**{name: _value(name, text) for name, text in given.items()})


def _compared(answer: Answer, field: str, expected: str) -> str:
    """Return the part of an answer that a case speaks of; for notes, the expected text or none."""
    if field not in ("note", "no note"):
        return str(getattr(answer, field))
    return expected if any(note.startswith(expected) for note in answer.notes) else "none"


def _compare(row: dict[str, str]) -> Comparison:
    expected = row["expected"]
    on = dt.date.fromisoformat(row["on"]) if row["on"] else None
    try:
        answer = classify_regime(_evidence(row), row["regime"], on)
        computed = _compared(answer, row["field"], expected)
    except Refused as refusal:
        computed = refusal.kind
    return Comparison(
        function=_FUNCTION,
        quantity=f"{row['regime']}, case {row['case']}, {row['flash_c']} °C: {row['wording']}",
        published="none" if row["field"] == "no note" else expected,
        computed=computed,
        allowed=0.0,
        source=f"{cite(row['source'])}; {row['clause']}",
        known=parse_known(row["known"], where=row["case"]),
    )


def comparisons() -> list[Comparison]:
    """Return every worked case, compared word for word."""
    table = files(__package__) / "data" / "classification_cases.csv"
    return [_compare(row) for row in load_rows(table, bibliography())]
