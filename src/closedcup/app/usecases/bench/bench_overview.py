"""What both faces show of a series at the bench: entries so far, the next step, its cautions."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView, bench
from closedcup.app.usecases.desk.overview import asked_words
from closedcup.methods import (
    CupRecovered,
    CupSet,
    DeviationNoted,
    IgniterApplied,
    MoveWithdrawn,
    RampStarted,
    RateChecked,
    SeriesEnded,
    SpecimenLoaded,
)

Answer = dict[str, Any]

_ACTION_WORDS = {
    "set cup": "Set the cup",
    "load specimen": "Load a fresh specimen",
    "await recovery": "Wait for the cup's recovery",
    "start ramp": "Start heating",
    "wait and apply": "Wait, then apply the igniter",
    "done": "Done",
    "stopped": "Stopped",
}


def bench_overview(opened: OpenLaboratory, series_id: str) -> Answer:
    """Return a series as it stands: entries so far, the next step, its cautions."""
    view = bench(opened, series_id)
    step = view.instruction
    return {
        "series": view.series.id,
        "test": view.test.id,
        "sample": view.sample.id,
        "method": view.method.id,
        "confirmed": view.method.confirmed,
        "asked": asked_words(view.test),
        "apparatus": view.apparatus.id,
        "analyst": view.series.analyst,
        "pressure": str(view.series.pressure),
        "pressure_kpa": view.series.pressure.kpa,
        "volume_left_ml": view.volume_left_ml,
        "instruction": {
            "action": step.action,
            "words": _ACTION_WORDS[step.action],
            "cup_c": step.cup_c,
            "corrected_c": view.state.corrected(step.cup_c),
            "specimen": step.specimen,
            "specimen_ml": step.specimen_ml,
            "dwell_s": step.dwell_s,
            "why": step.why,
            "clause": step.clause,
            "cautions": [caution.text for caution in step.cautions],
        },
        "dwell_from": None if view.dwell_from is None else view.dwell_from.isoformat(),
        "dwell_ends_at": None if view.dwell_ends_at is None else view.dwell_ends_at.isoformat(),
        "entries": _entries(opened, view),
        "outcome": None
        if view.outcome is None
        else {"kind": view.outcome.kind, "text": view.outcome.text},
        "deviations": [] if view.outcome is None else list(view.outcome.deviations),
        "warnings": list(view.warnings),
    }


def _entries(opened: OpenLaboratory, view: BenchView) -> list[Answer]:
    names = opened.store.names()
    reasons = {
        recorded.move.index: recorded.move.reason
        for recorded in view.series.moves
        if isinstance(recorded.move, MoveWithdrawn)
    }
    rows = []
    for number, recorded in enumerate(view.series.moves):
        row: Answer = {
            "number": number,
            "what": "",
            "cup_c": None,
            "seen": None,
            "detector": None,
            "by": names.get(recorded.by, recorded.by),
            "entered_by": names.get(recorded.entered_by, recorded.entered_by),
            "observed_at": recorded.observed_at,
            "recorded_at": recorded.recorded_at,
            "withdrawn": number in reasons,
            "note": f"withdrawn: {reasons[number]}" if number in reasons else "",
        }
        rows.append(row | _entry(recorded.move))
    return rows


def _entry(move: object) -> Answer:
    match move:
        case CupSet(cup_c):
            return {"what": "cup set", "cup_c": cup_c}
        case SpecimenLoaded(specimen, volume_ml, cup_c):
            return {"what": f"specimen {specimen} loaded, {volume_ml:g} mL", "cup_c": cup_c}
        case CupRecovered(cup_c):
            return {"what": "cup at its temperature again", "cup_c": cup_c}
        case RampStarted(cup_c, _):
            return {"what": "heating started", "cup_c": cup_c}
        case RateChecked(degc_per_min):
            return {"what": f"heating rate {degc_per_min:g} °C/min"}
        case IgniterApplied(cup_c, eye, detector, dwell_s):
            after = "" if dwell_s is None else f" after {dwell_s:g} s"
            said = {True: "flash", False: "no flash", None: None}[detector]
            return {
                "what": f"igniter applied{after}",
                "cup_c": cup_c,
                "seen": str(eye),
                "detector": said,
            }
        case MoveWithdrawn(index, reason):
            return {"what": f"entry {index} withdrawn: {reason}"}
        case DeviationNoted(text):
            return {"what": f"deviation: {text}"}
        case SeriesEnded(reason):
            return {"what": f"series ended early: {reason}"}
        case _:
            return {}
