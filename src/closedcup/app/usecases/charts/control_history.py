"""What goes on a control chart: typed values, a CSV file, or an apparatus's verifications.

Several materials share a chart as differences from their reference values, in units of the
precision expected there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.comma_separated import Row, column_among, decimal_in, read_rows
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.errors import InputError, Refused
from closedcup.laboratory import DecidedLimits, ReferenceMaterial, Verification
from closedcup.methods import method, precision_at
from closedcup.metrology import Limits, limits_around, resolution_of
from closedcup.mixtures import find as find_liquid
from closedcup.quantities import Temperature, TemperatureDifference
from closedcup.records.ledger import Ledger

DEGREES = "°C"
EXPECTED = "expected standard deviations"
_RESULT = ("result_c", "value_c", "value")

# The 95 % difference of two results is 1.96 √2 standard deviations.
_TWO_RESULTS = 2.772


@dataclass(frozen=True, slots=True)
class History:
    """Figures to chart, each with its resolution, its label and its assigned cause ("" for none).

    `subgroups` names the group of each figure where groups are given. `singles` are the results
    behind each figure in the chart's unit, `repeats` the same in units of the method's r, where
    there were several. `decided` are the limits on record for this chart.
    """

    values: tuple[float, ...]
    resolutions: tuple[float, ...]
    labels: tuple[str, ...]
    causes: tuple[str, ...]
    unit: str
    what: str
    subgroups: tuple[str, ...] = ()
    singles: tuple[tuple[float, ...], ...] = ()
    repeats: tuple[tuple[float, ...], ...] = ()
    big_r: tuple[float, ...] = ()
    warnings: tuple[str, ...] = ()
    designation: str = ""
    decided: Limits | None = None


def typed_history(values: Sequence[Temperature], resolution_c: float | None) -> History:
    """Chart values as typed."""
    step = _typed_step_c(values) if resolution_c is None else resolution_c
    count = len(values)
    return History(
        values=tuple(value.c for value in values),
        resolutions=(step,) * count,
        labels=tuple(str(number) for number in range(1, count + 1)),
        causes=("",) * count,
        unit=DEGREES,
        what="results",
    )


def _typed_step_c(values: Sequence[Temperature]) -> float:
    """Return the step of what was typed: 1 °F is 0.56 °C; 0 where units are mixed."""
    if len({value.unit for value in values}) != 1:
        return 0.0
    step = resolution_of([value.value for value in values])
    return TemperatureDifference(step, values[0].unit).c


def history_from_file(path: str, resolution_c: float | None) -> History:
    """Chart a CSV file with result_c (or low_c and high_c: what the flash point lies between).

    Further columns where wanted: reference_c, expected_sd_c, method, material, subgroup, date or
    label, cause. Raises InputError for results of several methods, for several materials without
    reference values, and for a value that some rows have and others lack.
    """
    rows = read_rows(path)
    _refuse_several(rows, "method", "mixed-methods", "Methods measure different things; ")
    results, steps = _results_and_steps(rows, path, resolution_c)
    references = _complete(rows, "reference_c")
    if references is None:
        _refuse_several(rows, "material", "reference-value-missing", "They have no reference_c; ")
    expected = _complete(rows, "expected_sd_c")
    if expected is not None and min(expected) <= 0:
        raise InputError("sigma-not-positive", "expected_sd_c must be positive.", where=path)
    zeros = references or [Decimal(0)] * len(rows)
    units = expected or [Decimal(1)] * len(rows)
    return History(
        values=tuple(
            float((result - zero) / unit)
            for result, zero, unit in zip(results, zeros, units, strict=True)
        ),
        resolutions=tuple(float(step / unit) for step, unit in zip(steps, units, strict=True)),
        labels=tuple(
            row.get("label") or row.get("date") or str(line)
            for line, row in enumerate(rows, start=1)
        ),
        causes=tuple(row.get("cause", "") for row in rows),
        unit=DEGREES if expected is None else EXPECTED,
        what="results" if references is None else "differences from the reference value",
        subgroups=tuple(row["subgroup"] for row in rows) if "subgroup" in rows[0] else (),
    )


def _results_and_steps(
    rows: Sequence[Row], path: str, resolution_c: float | None
) -> tuple[list[Decimal], list[Decimal]]:
    """Return each result and how far apart the ends of its bracket are."""
    low, high = _complete(rows, "low_c"), _complete(rows, "high_c")
    if low is not None and high is not None:
        ends = list(zip(low, high, strict=True))
        for line, (below, above) in enumerate(ends, start=1):
            if below >= above:
                raise InputError(
                    "bracket-order",
                    f"The bracket {below} to {above} °C has no width.",
                    where=f"row {line}",
                    fix="low_c is the highest no flash, high_c the lowest flash.",
                )
        return [(below + above) / 2 for below, above in ends], [b - a for a, b in ends]
    column = column_among(rows, _RESULT, where=path)
    results = [decimal_in(row, column, line=line) for line, row in enumerate(rows, start=1)]
    step = resolution_of(results) if resolution_c is None else Decimal(repr(resolution_c))
    return results, [step] * len(rows)


def _complete(rows: Sequence[Row], column: str) -> list[Decimal] | None:
    """Return a column's numbers, None where no row has one; InputError where only some have."""
    lacking = [line for line, row in enumerate(rows, start=1) if not row.get(column)]
    if len(lacking) == len(rows):
        return None
    if lacking:
        kind = "reference-value-missing" if column == "reference_c" else "value-missing"
        raise InputError(
            kind,
            f"Row {lacking[0]} has no {column}, which other rows have.",
            where=f"row {lacking[0]}, column {column}",
            fix="Give it in every row or in none.",
        )
    return [decimal_in(row, column, line=line) for line, row in enumerate(rows, start=1)]


def _refuse_several(rows: Sequence[Row], column: str, kind: str, why: str) -> None:
    names = sorted({row.get(column, "") for row in rows})
    if len(names) > 1:
        shown = ", ".join(name or "(none)" for name in names)
        raise InputError(
            kind,
            f"{why}one chart cannot hold {shown}.",
            where=f"column {column}",
            fix="Make a chart for each, or give reference values of the method that was used."
            if column == "material"
            else "Make a chart for each method.",
        )


def verifications_on_record(
    opened: OpenLaboratory, apparatus_id: str, method_id: str | None, *, since: str | None = None
) -> tuple[tuple[Verification, ...], str]:
    """Return an apparatus's verifications, all or since one, and the designation of their method.

    Raises InputError for verifications by several methods when none is named, Refused where there
    are none, or where a material had expired.
    """
    ledger = opened.state
    find(ledger.apparatus, apparatus_id, "apparatus")
    made = ledger.verifications.get(apparatus_id, ())
    if method_id is not None:
        made = ledger.verifications_for(apparatus_id, method(method_id).id)
    if not made:
        raise Refused(
            "no-verifications",
            f"No verification of {apparatus_id} is on record"
            + (f" for {method_id}." if method_id else "."),
            where=f"apparatus {apparatus_id}",
            fix="Record some with: closedcup verify",
        )
    designations = sorted({method(each.method).designation for each in made})
    if len(designations) > 1:
        raise InputError(
            "mixed-methods",
            f"{apparatus_id} was verified for {', '.join(designations)}; look at one.",
            where=f"apparatus {apparatus_id}",
            fix="Name the method.",
        )
    for each in made:
        _refuse_expired(ledger.materials[each.material], each)
    ids = [each.id for each in made]
    if since is not None:
        find(dict.fromkeys(ids), since, "verification")
        made = made[ids.index(since) :]
    return made, designations[0]


def history_on_record(
    opened: OpenLaboratory,
    apparatus_id: str,
    method_id: str | None,
    *,
    since: str | None = None,
    with_decided_limits: bool = True,
) -> History:
    """Chart an apparatus's verifications, all or since one: each mean less its reference value.

    One reference value gives differences in °C; several give them in units of the standard
    deviation that the method's R (or r, where it states no R) lets expect. Raises InputError for
    verifications by several methods when none is named, Refused where there are none, or where a
    material had expired.
    """
    ledger = opened.state
    made, designation = verifications_on_record(opened, apparatus_id, method_id, since=since)
    history = _charted_verifications(ledger, made)
    causes = [ledger.causes.get(each.id) for each in made]
    limits, moment = ledger.chart_limits.get((apparatus_id, designation), (None, ""))
    return replace(
        history,
        causes=tuple("" if cause is None else cause.cause for cause in causes),
        designation=designation,
        decided=None
        if limits is None or not with_decided_limits
        else _still_valid(limits, moment, history.unit),
    )


def _still_valid(limits: DecidedLimits, moment: str, unit: str) -> Limits:
    """Return decided limits for a chart in this unit; Refused where the unit has changed since."""
    if limits.unit != unit:
        raise Refused(
            "limits-outdated",
            f"The limits decided on {moment[:10]} are in {limits.unit}; with another reference "
            f"value the chart is now in {unit}.",
            where=f"apparatus {limits.apparatus}",
            fix="Decide on limits anew with: closedcup decide-limits",
        )
    how = f"decided on {moment[:10]}: {limits.reason} ({limits.first} to {limits.last})"
    return limits_around(limits.centre, limits.sigma, how)


def _refuse_expired(material: ReferenceMaterial, made: Verification) -> None:
    if material.expires_on and made.verified_at[:10] > material.expires_on:
        raise Refused(
            "reference-material-expired",
            f"Verification {made.id} was made with {material.liquid}, lot {material.lot}, which "
            f"had expired on {material.expires_on}.",
            where=f"verification {made.id}",
            fix="Repeat it with a material that is in date.",
        )


def _charted_verifications(ledger: Ledger, made: Sequence[Verification]) -> History:
    limits = [precision_at(method_of(ledger, each.method), each.reference_c) for each in made]
    expected = [(each.reproducibility_c or each.repeatability_c) / _TWO_RESULTS for each in limits]
    shared = len({each.reference_c for each in made}) > 1
    units = expected if shared else [1.0] * len(made)
    step = float(resolution_of([result for each in made for result in each.results_c]))
    return History(
        values=tuple(each.difference_c / unit for each, unit in zip(made, units, strict=True)),
        # The mean of several rounded results is known better than one of them, but no more is
        # claimed: they are rounded alike when they scatter little.
        resolutions=tuple(step / unit for unit in units),
        labels=tuple(f"{each.id}, {each.verified_at[:10]}" for each in made),
        causes=("",) * len(made),
        unit=EXPECTED if shared else DEGREES,
        what="differences from the reference value",
        singles=tuple(
            tuple((float(result) - each.reference_c) / unit for result in each.results_c)
            for each, unit in zip(made, units, strict=True)
        ),
        repeats=tuple(
            tuple(float(result) / limit.repeatability_c for result in each.results_c)
            for each, limit in zip(made, limits, strict=True)
        ),
        big_r=tuple(
            (limit.reproducibility_c or float("nan")) / unit
            for limit, unit in zip(limits, units, strict=True)
        ),
        warnings=_pure_compounds([ledger.materials[each.material] for each in made]),
    )


def _pure_compounds(materials: Sequence[ReferenceMaterial]) -> tuple[str, ...]:
    """Warn of pure liquids: what evaporates from a sample does not move their flash point."""
    pure = []
    for name in dict.fromkeys(material.liquid for material in materials):
        try:
            pure.append(find_liquid(name).name)
        except InputError:  # not a liquid of the catalogue: a product or a blend
            continue
    if not pure:
        return ()
    words = (
        f"{', '.join(pure)}: a pure compound suits the check of bias but is no control sample by "
        "ISO 4259-4; errors of sample handling stay hidden. Chart a stable product as well."
    )
    return (words,)
