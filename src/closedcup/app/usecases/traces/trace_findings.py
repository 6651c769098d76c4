"""What a trace says: its dwells, its rate against the method's, its flash beside the analyst's."""

from dataclasses import asdict, dataclass
from typing import Any, Final

from closedcup.app.usecases.methods.citing import in_words
from closedcup.errors import Refused
from closedcup.laboratory import Series
from closedcup.methods import Method, correction_c
from closedcup.metrology.traces import (
    HeatingRate,
    Lag,
    Plateau,
    Trace,
    TraceFlash,
    find_flash,
    heating_rate,
    plateaus,
)

Answer = dict[str, Any]

_SAME: Final = 1e-9
_USUAL_TOLERANCE_C, _USUAL_PLATEAU_S = 0.2, 60.0


@dataclass(frozen=True, slots=True)
class Called:
    """What the analyst called: in words, and as the cup showed it; is_open where nothing was."""

    statement: str
    cup_c: float | None
    corrected_c: float | None
    is_open: bool = False


def findings(
    trace: Trace, method: Method | None, series: Series | None, called: Called | None, lag: Lag
) -> Answer:
    """Return what a trace says, on the cup's scale, corrected too where the series is known."""
    tolerance_c, asked, rate_tolerance = _numbers(method, trace)
    # A ramp at half the method's rate is no plateau.
    least_s = max(_USUAL_PLATEAU_S, 240 * tolerance_c / asked if asked else 0.0)
    stands = plateaus(trace, tolerance_c=tolerance_c, at_least_s=least_s)
    flash = find_flash(trace, from_s=_ramp_begin(stands, float(trace.time_s[-1]) / 2), lag=lag)
    end_s = float(trace.time_s[-1]) if flash is None else flash.low_time_s
    rate, rate_refused = _rate(trace, _ramp_begin(stands, end_s), end_s)
    within = (
        None
        if rate is None or asked is None or rate_tolerance is None
        else abs(rate.rate_c_per_min - asked) <= rate_tolerance + _SAME
    )
    return {
        "readings": int(trace.time_s.size),
        "from_cup_c": float(trace.cup_c[0]),
        "highest_cup_c": float(trace.cup_c.max()),
        "dwells": [
            {"from_s": one.from_s, "length_s": one.length_s, "cup_c": one.cup_c} for one in stands
        ],
        "rate": None if rate is None else asdict(rate),
        "rate_refused": rate_refused,
        "rate_asked_c_per_min": asked,
        "rate_tolerance_c_per_min": rate_tolerance,
        "rate_within": within,
        "flash": None if flash is None else _flash(flash, series),
        "called": None if called is None else _compared(called, method, flash),
        "warnings": _warnings(trace, rate, asked, flash, lag),
        "sources": [] if method is None else _sources(method),
    }


def _warnings(
    trace: Trace,
    rate: HeatingRate | None,
    asked: float | None,
    flash: TraceFlash | None,
    lag: Lag,
) -> list[str]:
    found = [*trace.notes]
    if rate is not None:
        found += _odd_rate(rate, asked)
    if flash is None:
        found.append(
            f"No flash stands out up to {trace.cup_c.max():.1f} °C in this trace. That is not "
            "“not flammable”: look at the column chosen as detector and at the igniter."
        )
    elif flash.change.correlation > 0.5:
        found.append("Neighbouring readings of the signal go together; the interval allows it.")
    if flash is not None and flash.found_in == "detector" and lag.seconds == 0:
        found.append("No delay of the detector is stated: it is taken to answer at once.")
    return found


def _numbers(method: Method | None, trace: Trace) -> tuple[float, float | None, float | None]:
    """Return the tolerance of a stand, the rate asked and its tolerance, as far as stated."""
    if method is None:
        return _USUAL_TOLERANCE_C, None, None
    hold, rate, tolerance = (
        method.numbers.get(name) for name in ("hold_tolerance", "ramp_rate", "ramp_rate_tolerance")
    )
    if method.intervals:  # where the rate differs with the temperature, that of the end counts
        highest_c = float(trace.cup_c.max())
        rate = method.interval_rule(highest_c, highest_c).rate or rate
    return (
        _USUAL_TOLERANCE_C if hold is None else hold.value,
        None if rate is None else rate.value,
        None if tolerance is None else tolerance.value,
    )


def _ramp_begin(stands: tuple[Plateau, ...], before_s: float) -> float:
    return max((one.to_s for one in stands if one.to_s < before_s), default=0.0)


def _rate(trace: Trace, from_s: float, to_s: float) -> tuple[HeatingRate | None, str]:
    try:
        return heating_rate(trace, from_s=from_s, to_s=to_s), ""
    except Refused as refused:
        return None, str(refused)


def _odd_rate(rate: HeatingRate, asked: float | None) -> list[str]:
    found = []
    if rate.covers_c < 19:
        found.append(f"The rate rests on {rate.covers_c:.1f} °C; the ramp before it is shorter.")
    times = rate.rate_c_per_min / asked if asked else 1.0
    for factor, hint in ((1.8, "°F"), (1 / 1.8, "°C read as °F"), (60.0, "min"), (1 / 60, "s")):
        if abs(times / factor - 1) < 0.1:
            found.append(f"The rate is {times:.2g} times the method's: is the unit {hint}?")
    return found


def _flash(flash: TraceFlash, series: Series | None) -> Answer:
    found = asdict(flash)
    change = found.pop("change")
    found |= {"signal_height": change["height"], "signal_noise": change["noise"]}
    if series is None:
        return {**found, "corrected_c": None, "low_corrected_c": None, "high_corrected_c": None}
    shift_c = float(series.probe_correction_c or 0) + float(correction_c(series.pressure.kpa))
    return {
        **found,
        "corrected_c": flash.cup_c + shift_c,
        "low_corrected_c": flash.low_cup_c + shift_c,
        "high_corrected_c": flash.high_cup_c + shift_c,
    }


def _compared(called: Called, method: Method | None, flash: TraceFlash | None) -> Answer:
    """Compare with what the analyst called, both as the cup showed it."""
    compared: Answer = {"statement": called.statement, "cup_c": called.cup_c}
    if called.cup_c is None or flash is None:
        agree = None if called.is_open else (called.cup_c is None) == (flash is None)
        return {**compared, "difference_c": None, "allowed_c": None, "agree": agree}
    difference_c = flash.cup_c - called.cup_c
    allowed_c = None
    if method is not None and method.intervals:
        expected_c = called.cup_c if called.corrected_c is None else called.corrected_c
        allowed_c = method.interval_rule(called.cup_c, expected_c).interval.value
    agree = None if allowed_c is None else abs(difference_c) <= allowed_c + _SAME
    return {**compared, "difference_c": difference_c, "allowed_c": allowed_c, "agree": agree}


def _sources(method: Method) -> list[dict[str, str]]:
    wanted = {"heating rate", "the heating rate may differ by", "interval"}
    return in_words([each for each in method.sources() if each["value_of"] in wanted])


def trace_picture(answer: Answer, trace: Trace) -> str:
    """Return the SVG of a trace with its flash and the stretch that the rate rests on."""
    from closedcup.reports.drawing import svg
    from closedcup.reports.trace_chart import TraceMarks, trace_chart

    rate, flash, called = answer["rate"], answer["flash"], answer["called"]
    marks = TraceMarks(
        rate_s=None if rate is None else (rate["from_s"], rate["to_s"]),
        flash_s=None if flash is None else (flash["low_time_s"], flash["high_time_s"]),
        flash_words="" if flash is None else f"flash {flash['cup_c']:.1f} °C",
        called_cup_c=None if called is None else called["cup_c"],
    )
    detector = None if trace.detector is None else trace.detector.tolist()
    return svg(
        trace_chart(
            trace.time_s.tolist(),
            trace.cup_c.tolist(),
            detector,
            marks=marks,
            title=f"Trace {answer['file']}",
        )
    )
