"""The result of a method that reports the mean of determinations: each in a series of its own."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView, bench
from closedcup.errors import Refused
from closedcup.laboratory import Result
from closedcup.methods import barometer_numbers, correct, repeat_rule
from closedcup.methods.repeats import Repeats, judge_repeats


def series_together(opened: OpenLaboratory, last: BenchView) -> tuple[BenchView, ...]:
    """Return the series that make a result together, the last one last.

    Only the last one where the method takes one determination as a result; else every series that
    was begun since the last result of the test and has ended.
    """
    if not repeat_rule(last.method).takes_mean:
        return (last,)
    ledger = opened.state
    ids = [series.id for series in ledger.series_of(last.test.id)]
    used = [ids.index(result.series) for result in ledger.results_of(last.test.id)]
    views = [bench(opened, one) for one in ids[max(used, default=-1) + 1 :]]
    return tuple(view for view in views if view.outcome is not None)


def with_value(view: BenchView) -> bool:
    """Say whether a series gave a value that counts."""
    over = view.outcome
    return over is not None and over.kind == "flash point" and over.confirmed is not False


def refuse_more_due(views: Sequence[BenchView]) -> None:
    """Refuse a result while the method asks for another determination and one can be made."""
    values_c = [_corrected_c(view) for view in views if with_value(view)]
    last = views[-1]
    if not values_c or not with_value(last) or not repeat_rule(last.method).takes_mean:
        return  # the last series ended without a value: what there is has to do
    found = _judged(last, values_c)
    if found.another_due:
        raise Refused(
            "determination-due",
            f"{last.method.designation}: {found.why} So far: "
            + ", ".join(f"{value_c:.2f} °C" for value_c in values_c)
            + f"; two may differ by {found.limit_c:g} °C.",
            where=f"test {last.test.id}",
            fix=f"Begin it with: closedcup begin {last.test.id} --apparatus {last.apparatus.id}. "
            "If the sample is used up, begin it and end it with that reason.",
        )


def mean_result(
    last: Result, parts: Sequence[Result], views: Sequence[BenchView], step_c: float
) -> Result:
    """Return the result of several determinations; `last` is that of the last series alone.

    parts: the results that the series with a value would have alone. Where only one has a value
    it is reported and said to be one only.
    """
    together = tuple(view.series.id for view in views)
    method = views[-1].method
    if len(parts) == 1:
        text = f"{method.designation} reports the mean of two determinations; this is one only."
        deviations = tuple(dict.fromkeys((*parts[0].deviations, *last.deviations, text)))
        return replace(
            parts[0], id=last.id, series=last.series, deviations=deviations, together=together
        )
    value_c, counting = _mean(views[-1], parts)
    reading = correct(
        value_c,
        pressure_kpa=barometer_numbers().standard_pressure.value,
        rounding_step_c=step_c,
        probe_correction_c=0.0,
        limit=views[-1].test.limit,
    )
    each = [f"{one.series}, corrected to 101.3 kPa: {one.corrected_c:.3f} °C" for one in parts]
    warnings = [text for one in parts for text in one.warnings]
    return replace(
        last,
        statement=f"Flash point {reading.reported_text} °C, mean of {len(counting)} "
        "determinations, corrected to 101.3 kPa",
        observed_cup_c=Decimal(repr(_average(counting, "observed_cup_c"))),
        probe_correction_c=_average(counting, "probe_correction_c"),
        pressure_kpa=_average(counting, "pressure_kpa") or last.pressure_kpa,
        pressure_correction_c=_average(counting, "pressure_correction_c"),
        corrected_c=value_c,
        reported_c=reading.reported_c,
        reported_text=f"{reading.reported_text} °C",
        low_corrected_c=_average(counting, "low_corrected_c"),
        high_corrected_c=_average(counting, "high_corrected_c"),
        deviations=tuple(dict.fromkeys(text for one in parts for text in one.deviations)),
        warnings=tuple(dict.fromkeys([*warnings, *reading.warnings])),
        steps=(
            *each,
            f"mean of {len(counting)}: {value_c:.3f} °C",
            f"reported, rounded half up to {step_c:g} °C: {reading.reported_text} °C",
        ),
        together=together,
    )


def _mean(view: BenchView, parts: Sequence[Result]) -> tuple[float, tuple[Result, ...]]:
    """Return the mean that is reported and the two results behind it."""
    values_c = [one.corrected_c or 0.0 for one in parts]
    found = _judged(view, values_c)
    pairs = itertools.combinations(parts, 2)
    value_c = found.mean_c if found.reported_c is None else found.reported_c
    for pair in pairs:
        if math.isclose(_average(pair, "corrected_c") or math.nan, value_c, abs_tol=1e-6):
            return value_c, pair
    return value_c, tuple(parts)


def _judged(view: BenchView, values_c: Sequence[float]) -> Repeats:
    rule = repeat_rule(view.method)
    return judge_repeats(rule, values_c, rule.limit_c or 0.0)


def _corrected_c(view: BenchView) -> float:
    over = view.outcome
    assert over is not None  # noqa: S101 - a series with a value has an outcome
    assert over.observed_cup_c is not None  # noqa: S101 - and its reading
    return view.state.corrected(over.observed_cup_c)


def _average(results: Sequence[Result], name: str) -> float | None:
    """Return the mean of a number over results; None where one of them lacks it."""
    values = [getattr(one, name) for one in results]
    if any(value is None for value in values):
        return None
    return round(math.fsum(float(value) for value in values) / len(values), 9)
