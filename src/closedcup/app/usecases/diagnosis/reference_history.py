"""Gather what a diagnosis looks at: results on reference materials and what each was made under.

From an apparatus's verifications on record, or from a CSV file. What is missing for some results
keeps a cause from being examined; nothing is filled in.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.charts.control_history import verifications_on_record
from closedcup.app.usecases.comma_separated import Row, column_among, decimal_in, read_rows
from closedcup.app.usecases.methods.methods_on_record import MethodLookup, method_of
from closedcup.errors import InputError, Refused
from closedcup.laboratory import ReferenceMaterial, Verification
from closedcup.methods import correction_c, precision_at
from closedcup.metrology import resolution_of
from closedcup.metrology.diagnosis import CHANGE_OF, PARTS, ReferenceHistory

_RESULT: Final = ("result_c", "value_c", "value")


@dataclass(frozen=True, slots=True)
class MadeResult:
    """One result on a reference material; None or "": not on record.

    days_since_check: since the probe's last calibration. reference_uncertainty_c: standard
    uncertainty of the reference value, 0 where it is not stated.
    """

    label: str
    result_c: float
    reference_c: float
    repeatability_c: float
    reference_uncertainty_c: float = 0.0
    pressure_kpa: float | None = None
    correction_applied_c: float | None = None
    rate_c_per_min: float | None = None
    days_since_check: float | None = None
    is_first: bool | None = None
    lid: str = ""
    igniter: str = ""
    operator: str = ""
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Gathered:
    """Results in order of time, the history made of them, and what was noticed on the way."""

    made: tuple[MadeResult, ...]
    history: ReferenceHistory
    method: str
    apparatus: str = ""
    warnings: tuple[str, ...] = ()

    def incomplete(self) -> dict[str, str]:
        """Return the causes for which some results lack what is needed: cause to what is said."""
        said = {}
        for causes, lacks in _NEEDED:
            lacking = sum(lacks(each) for each in self.made)
            if 0 < lacking < len(self.made):
                words = f"not on record for {lacking} of {len(self.made)} results"
                said.update(dict.fromkeys(causes, words))
        return said


_NEEDED: Final[tuple[tuple[tuple[str, ...], Callable[[MadeResult], bool]], ...]] = (
    (
        ("pressure not corrected", "pressure corrected twice"),
        lambda made: made.pressure_kpa is None,
    ),
    (("follows heating rate",), lambda made: made.rate_c_per_min is None),
    (("drift since calibration",), lambda made: made.days_since_check is None),
    (("first of the day",), lambda made: made.is_first is None),
    ((CHANGE_OF["lid"],), lambda made: not made.lid),
    ((CHANGE_OF["igniter"],), lambda made: not made.igniter),
    ((CHANGE_OF["operator"],), lambda made: not made.operator),
    ((CHANGE_OF["lot"],), lambda made: not made.lot),
)


def gathered_on_record(
    opened: OpenLaboratory, apparatus_id: str, method_id: str | None, *, since: str | None = None
) -> Gathered:
    """Gather an apparatus's verifications by one method, all or since one; each result counts.

    Verifications with an assigned cause are left out and named. Raises InputError for several
    methods when none is named, Refused where there are none or where a material had expired.
    """
    ledger = opened.state
    made, designation = verifications_on_record(opened, apparatus_id, method_id, since=since)
    kept = [each for each in made if each.id not in ledger.causes]
    warnings = tuple(
        f"{each.id} is left out: its cause is on record ({ledger.causes[each.id].cause})."
        for each in made
        if each.id in ledger.causes
    )
    results = [
        result
        for each in kept
        for result in _results_of(
            each,
            ledger.materials[each.material],
            precision_at(method_of(ledger, each.method), each.reference_c).repeatability_c,
        )
    ]
    return _gathered(results, designation, warnings=warnings, apparatus=apparatus_id)


def _results_of(made: Verification, material: ReferenceMaterial, r_c: float) -> list[MadeResult]:
    under, day = made.conditions, made.verified_at[:10]
    uncertainty = material.expanded_uncertainty_c
    one = MadeResult(
        label=f"{made.id}, {day}",
        result_c=0.0,
        reference_c=made.reference_c,
        repeatability_c=r_c,
        # A certificate's expanded uncertainty is taken with k = 2.
        reference_uncertainty_c=0.0 if uncertainty is None else float(uncertainty) / 2,
        lot=f"{material.id}, lot {material.lot}",
    )
    if under is not None:
        rate, applied = under.heating_rate_c_per_min, under.correction_applied_c
        one = replace(
            one,
            pressure_kpa=None if under.pressure is None else under.pressure.kpa,
            correction_applied_c=None if applied is None else float(applied),
            rate_c_per_min=None if rate is None else float(rate),
            days_since_check=_days_between(under.probe_checked_on, day),
            lid=under.lid,
            igniter=under.igniter,
            operator=under.operator,
        )
    order = None if under is None else under.order_in_day
    return [
        replace(
            one,
            result_c=float(result),
            is_first=None if order is None else order + place == 1,
        )
        for place, result in enumerate(made.results_c)
    ]


def _days_between(earlier: str, later: str) -> float | None:
    try:
        days = (date.fromisoformat(later) - date.fromisoformat(earlier)).days
    except ValueError:  # no date, or none that can be read: not on record
        return None
    return float(days) if days >= 0 else None


def gathered_from_file(path: str, method_id: str | None, find: MethodLookup) -> Gathered:
    """Gather a CSV file with result_c and reference_c in each row, in order of time.

    Further columns where known: date (or order_in_day), pressure_kpa, correction_applied_c,
    heating_rate_c_per_min, days_since_calibration, lid, igniter, operator, lot, label, and
    repeatability_c where no method is named. Raises InputError for several methods, a reference
    value or a repeatability that is missing, and dates that go back.
    """
    rows = read_rows(path)
    named = sorted({row["method"] for row in rows if row.get("method")})
    if len(named) > 1:
        raise InputError(
            "mixed-methods",
            f"Methods measure different things; one history cannot hold {', '.join(named)}.",
            where=f"{path}, column method",
            fix="Make a file for each method.",
        )
    method_id = method_id or (named[0] if named else None)
    column = column_among(rows, _RESULT, where=path)
    firsts = _first_of_day(rows)
    results = [
        _from_row(row, line, column, method_id, find, firsts[line - 1])
        for line, row in enumerate(rows, start=1)
    ]
    designation = "" if method_id is None else find(method_id).designation
    return _gathered(results, designation)


def _from_row(
    row: Row,
    line: int,
    column: str,
    method_id: str | None,
    find: MethodLookup,
    is_first: bool | None,
) -> MadeResult:
    def optional(name: str) -> float | None:
        return float(decimal_in(row, name, line=line)) if row.get(name) else None

    reference_c = optional("reference_c")
    if reference_c is None:
        raise InputError(
            "reference-value-missing",
            f"Row {line} has no reference_c: without it nothing tells how far off the result is.",
            where=f"row {line}, column reference_c",
            fix="Enter the reference material's value by the method that was used.",
        )
    return MadeResult(
        label=row.get("label") or row.get("date") or str(line),
        result_c=float(decimal_in(row, column, line=line)),
        reference_c=reference_c,
        repeatability_c=_repeatability_c(
            optional("repeatability_c"), method_id, find, reference_c, line
        ),
        reference_uncertainty_c=optional("reference_uncertainty_c") or 0.0,
        pressure_kpa=optional("pressure_kpa"),
        correction_applied_c=optional("correction_applied_c"),
        rate_c_per_min=optional("heating_rate_c_per_min"),
        days_since_check=optional("days_since_calibration"),
        is_first=is_first,
        lid=row.get("lid", ""),
        igniter=row.get("igniter", ""),
        operator=row.get("operator", ""),
        lot=row.get("lot", ""),
    )


def _repeatability_c(
    given_c: float | None, method_id: str | None, find: MethodLookup, reference_c: float, line: int
) -> float:
    if given_c is not None:
        return given_c
    if method_id is None:
        raise InputError(
            "repeatability-missing",
            f"Row {line} names no repeatability_c, and no method is named that states one.",
            where=f"row {line}",
            fix="Name the method (--method d93-a, or a column method), or give repeatability_c.",
        )
    return precision_at(find(method_id), reference_c).repeatability_c


def _first_of_day(rows: Sequence[Row]) -> list[bool | None]:
    """Return which rows are first of their day, by order_in_day or else by date."""
    days: list[str] = []
    firsts: list[bool | None] = []
    for line, row in enumerate(rows, start=1):
        day = _day(row.get("date", ""), line)
        if day and days and day < days[-1]:
            raise InputError(
                "dates-go-back",
                f"Row {line} is of {day}, earlier than the row before it.",
                where=f"row {line}, column date",
                fix="Sort the rows by time: drift and autocorrelation go by their order.",
            )
        if row.get("order_in_day"):
            firsts.append(decimal_in(row, "order_in_day", line=line) == 1)
        else:
            firsts.append((not days or day != days[-1]) if day else None)
        if day:
            days.append(day)
    return firsts


def _day(text: str, line: int) -> str:
    if not text:
        return ""
    try:
        return datetime.fromisoformat(text).date().isoformat()
    except ValueError:
        raise InputError(
            "date-unreadable",
            f"“{text}” is not a date.",
            where=f"row {line}, column date",
            fix="Write it like 2026-03-02.",
        ) from None


def _gathered(
    made: Sequence[MadeResult],
    method: str,
    *,
    warnings: tuple[str, ...] = (),
    apparatus: str = "",
) -> Gathered:
    if not made:
        raise Refused(
            "no-results",
            "Every verification has its cause on record; none is left to explain.",
            where=f"apparatus {apparatus}",
            fix="Look at the assigned causes, or record further verifications.",
        )
    pressure = _column([each.pressure_kpa for each in made])
    history = ReferenceHistory(
        difference_c=np.array([each.result_c - each.reference_c for each in made]).round(9),
        repeatability_c=np.array([each.repeatability_c for each in made]),
        resolution_c=float(resolution_of([Decimal(repr(each.result_c)) for each in made])),
        reference_uncertainty_c=float(np.mean([each.reference_uncertainty_c for each in made])),
        temperature_c=np.array([each.reference_c for each in made]),
        pressure_correction_c=None if pressure is None else correction_c(pressure),
        rate_c_per_min=_column([each.rate_c_per_min for each in made]),
        days_since_calibration=_column([each.days_since_check for each in made]),
        first_of_day=_firsts(made),
        parts={
            part: tuple(getattr(each, part) for each in made)
            for part in PARTS
            if all(getattr(each, part) for each in made)
        },
    )
    return Gathered(tuple(made), history, method, apparatus, warnings)


def _column(values: Sequence[float | None]) -> NDArray[np.float64] | None:
    known = [value for value in values if value is not None]
    return np.array(known) if len(known) == len(values) else None


def _firsts(made: Sequence[MadeResult]) -> NDArray[np.bool_] | None:
    known = [each.is_first for each in made if each.is_first is not None]
    return np.array(known, dtype=np.bool_) if len(known) == len(made) else None
