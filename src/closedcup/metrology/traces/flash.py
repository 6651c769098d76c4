"""The flash in a trace: when the detector (or else the temperature) leaves its base, in °C.

The cup temperature at that time comes from a straight line through the readings just before it,
because the flash itself heats the probe.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from closedcup.metrology.line_fit import fit_line
from closedcup.metrology.quantiles import student_quantile
from closedcup.metrology.traces.change_point import ChangePoint, locate_change
from closedcup.metrology.traces.trace import Trace

_LINE_S: Final = 60.0
_LINE_READINGS: Final = 12
"""The line runs through the last minute before the flash, through 12 readings at least."""


@dataclass(frozen=True, slots=True)
class Lag:
    """How late a detector answers, in seconds, within ± half_width_s (95 %)."""

    seconds: float = 0.0
    half_width_s: float = 0.0


NO_LAG: Final = Lag()


@dataclass(frozen=True, slots=True)
class TraceFlash:
    """A flash found in a trace, on the cup's scale as shown, not corrected.

    The flash lies between two readings: time_s and cup_c are half-way. The interval joins that of
    the time with that of the temperature line, both at `coverage`, and the lag's. lag_shift_c: what
    the lag took off.
    """

    time_s: float
    low_time_s: float
    high_time_s: float
    cup_c: float
    low_cup_c: float
    high_cup_c: float
    coverage: float
    found_in: Literal["detector", "temperature"]
    change: ChangePoint
    lag_shift_c: float = 0.0


def find_flash(
    trace: Trace, *, from_s: float = 0.0, coverage: float = 0.95, lag: Lag = NO_LAG
) -> TraceFlash | None:
    """Return the first flash of a trace after `from_s`, or None where nothing leaves its base.

    With a detector only its signal is looked at; without one, a jump of the temperature on the
    straight part of the ramp. A stated lag shifts the flash to when it happened, and its half width
    widens the interval. No flash found says nothing about flammability.
    """
    begin = int(np.searchsorted(trace.time_s, from_s))
    found_in: Literal["detector", "temperature"] = "detector"
    signal = trace.detector
    if signal is None:
        found_in, signal = "temperature", trace.cup_c
    change = locate_change(trace.time_s[begin:], signal[begin:], coverage=coverage)
    if change is None:
        return None
    low, index, high = (at + begin for at in (change.low_index, change.index, change.high_index))
    times = trace.time_s
    seen_s = float(times[index - 1] + times[index]) / 2
    middle_s = seen_s - lag.seconds
    low_s = float(times[low - 1]) - lag.seconds - lag.half_width_s
    high_s = float(times[high]) - lag.seconds + lag.half_width_s
    # Readings after the flash are warmed by it: the line ends where the flash may have begun.
    last = min(low, max(int(np.searchsorted(times, low_s)), begin + _LINE_READINGS))
    first = min(int(np.searchsorted(times, times[last] - _LINE_S)), last - _LINE_READINGS)
    before = slice(max(first, 0), last)
    line = fit_line(times[before], trace.cup_c[before], at=middle_s)
    margin = student_quantile((1 + coverage) / 2, line.degrees_of_freedom)
    ends = [line.predict(at) for at in (low_s, middle_s, high_s)]
    reach = [(value - margin * u, value + margin * u) for value, u in ends]
    return TraceFlash(
        time_s=middle_s,
        low_time_s=low_s,
        high_time_s=high_s,
        cup_c=ends[1][0],
        low_cup_c=min(low_end for low_end, _ in reach),
        high_cup_c=max(high_end for _, high_end in reach),
        coverage=coverage,
        found_in=found_in,
        change=change,
        lag_shift_c=line.predict(seen_s)[0] - ends[1][0],
    )
