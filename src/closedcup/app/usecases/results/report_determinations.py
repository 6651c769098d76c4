"""The determinations behind a result, as a report states them."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView, bench
from closedcup.laboratory import Result

Facts = dict[str, Any]


def determinations_behind(opened: OpenLaboratory, result: Result, view: BenchView) -> list[Facts]:
    """Return the determinations of every series that the result rests on, numbered throughout.

    `view` is the series that the result was issued from.
    """
    views = [
        view if series == view.series.id else bench(opened, series)
        for series in result.together or (view.series.id,)
    ]
    found = [one for each in views for one in _determinations(each)]
    return [one | {"number": place} for place, one in enumerate(found, 1)]


def _determinations(view: BenchView) -> list[Facts]:
    if view.outcome is None:
        return []
    rows = []
    for one in view.outcome.determinations:
        recorded = view.series.moves[one.move_index]
        reading = recorded.reading
        corrected_for = None if reading is None else reading.already_corrected_for
        rows.append(
            {
                "number": one.number,
                "specimen": one.specimen,
                "cup_c": one.cup_c
                if reading is None or corrected_for is not None
                else str(reading.displayed_c),
                "eye": str(one.eye),
                "detector": one.detector,
                "counts_as": one.counts_as,
                "valid": one.status == "valid",
                "note": "; ".join([*([] if one.status == "valid" else [one.status]), *one.remarks])
                or None,
                "dwell_s": one.dwell_s,
                "observed_at": recorded.observed_at,
                "by": recorded.by,
                "entered_by": recorded.entered_by,
                "recorded_at": recorded.recorded_at,
                "already_corrected": None
                if reading is None or corrected_for is None
                else {"pressure": str(corrected_for), "by": reading.corrected_by or "the display"},
            }
        )
    return rows
