"""How fast the cup was heated over the last degrees before a flash (or before the trace ends)."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.errors import Refused
from closedcup.metrology.line_fit import fit_line
from closedcup.metrology.traces.trace import Trace

OVER_C: Final = 20.0
_QUARTERS: Final = 4
_FEWEST: Final = 12
"""Readings: three for the line through each quarter."""
_LEAST_C: Final = 2.0


@dataclass(frozen=True, slots=True)
class HeatingRate:
    """The slope of a straight line through the readings, in °C/min.

    uncertainty: standard, from the scatter around the line. slowest, fastest: the slopes of the
    four quarters of the time. covers_c: how many degrees the readings span.
    """

    rate_c_per_min: float
    uncertainty_c_per_min: float
    slowest_c_per_min: float
    fastest_c_per_min: float
    from_s: float
    to_s: float
    covers_c: float
    readings: int


def heating_rate(
    trace: Trace, *, to_s: float, from_s: float = 0.0, over_c: float = OVER_C
) -> HeatingRate:
    """Return the rate over the last `over_c` degrees before `to_s`, but not before `from_s`.

    from_s: where the ramp began. Raises Refused where fewer than 12 readings or 2 °C are left.
    """
    inside = np.flatnonzero((trace.time_s >= from_s) & (trace.time_s <= to_s))
    if inside.size >= _FEWEST:
        last_c = float(np.median(trace.cup_c[inside[-3:]]))
        below = np.flatnonzero(trace.cup_c[inside] < last_c - over_c)
        inside = inside[below[-1] + 1 :] if below.size else inside
    times, temperatures = trace.time_s[inside], trace.cup_c[inside]
    if times.size < _FEWEST or np.ptp(temperatures) < _LEAST_C:
        raise Refused(
            "ramp-too-short",
            f"Only {times.size} readings over "
            f"{np.ptp(temperatures) if times.size else 0:.1f} °C lie on the ramp.",
            where="heating rate",
            fix=f"A rate needs at least {_FEWEST} readings over {_LEAST_C:g} °C; export the run "
            "from its start, at shorter intervals.",
        )
    line = fit_line(times, temperatures)
    quarters = [
        fit_line(some, temperatures[pick]).slope * 60
        for pick in np.array_split(np.arange(times.size), _QUARTERS)
        for some in [times[pick]]
    ]
    return HeatingRate(
        rate_c_per_min=line.slope * 60,
        uncertainty_c_per_min=line.slope_uncertainty * 60,
        slowest_c_per_min=min(quarters),
        fastest_c_per_min=max(quarters),
        from_s=float(times[0]),
        to_s=float(times[-1]),
        covers_c=abs(line.slope) * float(times[-1] - times[0]),
        readings=times.size,
    )
