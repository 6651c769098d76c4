"""Read one method's data file; an unknown key or a number without a source does not load."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import fields
from importlib.resources.abc import Traversable
from typing import Any, Final

from closedcup.errors import Damaged
from closedcup.methods.numbers import MEANINGS
from closedcup.methods.published_method import (
    PROCEDURES,
    PRODUCTS,
    Edition,
    IntervalRule,
    Method,
    PrecisionRule,
    PrecisionTerm,
    SpecimenRule,
    Statement,
)
from closedcup.sources import Bibliography, Cited, parse_known

_KEYS: Final = frozenset(field.name for field in fields(Method))


class MethodFile:
    """One file on its way to a `Method`; it knows its name, for messages."""

    def __init__(self, file: Traversable, bibliography: Bibliography) -> None:
        self._where = file.name
        self._bibliography = bibliography
        self._table: Mapping[str, Any] = tomllib.loads(file.read_text(encoding="utf-8"))

    def method(self) -> Method:
        """Return the method; Damaged says what is wrong with the file."""
        table = self._table
        wrong = set(table) ^ _KEYS
        if wrong:
            raise self._damaged(f"These keys are missing or unknown: {', '.join(sorted(wrong))}.")
        return Method(
            id=table["id"],
            name=table["name"],
            designation=table["designation"],
            procedure_letter=table["procedure_letter"],
            procedure=self._procedure(table["procedure"]),
            test=table["test"],
            kind=table["kind"],
            is_equilibrium=table["is_equilibrium"],
            is_closed_cup=table["is_closed_cup"],
            automatic_only=table["automatic_only"],
            confirmed=table["confirmed"],
            equivalents=tuple(table["equivalents"]),
            default_product=table["default_product"],
            flash_called_by=table["flash_called_by"],
            detector_products=self._products(table["detector_products"]),
            rounds_to_step_used=table["rounds_to_step_used"],
            numbers={name: self._number(name, row) for name, row in table["numbers"].items()},
            specimens=tuple(self._specimen(row) for row in table["specimens"]),
            intervals=tuple(self._interval(row) for row in table["intervals"]),
            precision=tuple(self._precision(row) for row in table["precision"]),
            clauses={step: self._statement(row) for step, row in table["clauses"].items()},
            not_for=tuple(self._statement(row) for row in table["not_for"]),
            report=tuple(table["report"]),
            editions=tuple(self._edition(row) for row in table["editions"]),
        )

    def _damaged(self, what: str) -> Damaged:
        return Damaged("method-file", what, where=self._where)

    def _provenance(self, row: Mapping[str, Any]) -> dict[str, Any]:
        self._bibliography.cite(row.get("source", ""))
        return {
            "source": row["source"],
            "known": parse_known(row.get("known", ""), where=self._where),
        }

    def _cited(self, row: Mapping[str, Any], unit: str) -> Cited:
        if row.get("unit") != unit:
            raise self._damaged(f"A number in {row.get('unit')} should be in {unit}: {row}.")
        return Cited(
            value=float(row["value"]),
            unit=unit,
            clause=row.get("clause", ""),
            **self._provenance(row),
        )

    def _optional(self, row: Mapping[str, Any], key: str, unit: str) -> Cited | None:
        return self._cited(row[key], unit) if key in row else None

    def _number(self, name: str, row: Mapping[str, Any]) -> Cited:
        if name not in MEANINGS:
            raise self._damaged(f"“{name}” is not the name of a method's number.")
        return self._cited(row, MEANINGS[name].unit)

    def _procedure(self, name: str) -> str:
        if name and name not in PROCEDURES:
            raise self._damaged(f"“{name}” is not a procedure.")
        return name

    def _products(self, names: Sequence[str]) -> frozenset[str]:
        unknown = set(names) - set(PRODUCTS)
        if unknown:
            raise self._damaged(f"Unknown kinds of product: {', '.join(sorted(unknown))}.")
        return frozenset(names)

    def _specimen(self, row: Mapping[str, Any]) -> SpecimenRule:
        return SpecimenRule(
            products=self._products(row.get("products", ())),
            up_to_cup=self._optional(row, "up_to_cup", "degC"),
            volume=self._cited(row["volume"], "mL"),
            volume_tolerance=self._optional(row, "volume_tolerance", "mL"),
            dwell=self._optional(row, "dwell", "s"),
            fill=row.get("fill", ""),
        )

    def _interval(self, row: Mapping[str, Any]) -> IntervalRule:
        return IntervalRule(
            up_to_cup=self._optional(row, "up_to_cup", "degC"),
            interval=self._cited(row["interval"], "degC"),
            up_to_expected=self._optional(row, "up_to_expected", "degC"),
            below_expected=self._optional(row, "below_expected", "degC"),
            rate=self._optional(row, "rate", "degC/min"),
        )

    def _term(self, row: Mapping[str, Any]) -> PrecisionTerm:
        return PrecisionTerm(
            factor=float(row["factor"]),
            offset=float(row.get("offset", 0)),
            exponent=float(row.get("exponent", 0)),
            clause=row.get("clause", ""),
            **self._provenance(row),
        )

    def _precision(self, row: Mapping[str, Any]) -> PrecisionRule:
        return PrecisionRule(
            products=self._products(row["products"]),
            low=self._optional(row, "low", "degC"),
            high=self._optional(row, "high", "degC"),
            repeatability=self._term(row["repeatability"]),
            reproducibility=self._term(row["reproducibility"])
            if "reproducibility" in row
            else None,
            note=row.get("note", ""),
        )

    def _statement(self, row: Mapping[str, Any]) -> Statement:
        return Statement(text=row["text"], **self._provenance(row))

    def _edition(self, row: Mapping[str, Any]) -> Edition:
        return Edition(name=row["name"], changed=row["changed"], **self._provenance(row))
