"""How fast a cup was heated and cooled in a trace, where it travelled from one stand to another."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.errors import Refused
from closedcup.metrology.traces.trace import Trace

LEAST_TRAVEL_C: Final = 10.0
"""A shorter way says little: a controller slows down before it arrives."""


@dataclass(frozen=True, slots=True)
class Travel:
    """Rates in °C a minute, each over the longest way in its direction; None where none is long."""

    heats_c_per_min: float | None
    cools_c_per_min: float | None


def travel_rates(trace: Trace, *, least_c: float = LEAST_TRAVEL_C) -> Travel:
    """Return how fast the cup rose and fell on its longest ways up and down.

    A way is timed from its first to its last reading without the slow tenth at either end. Raises
    Refused where the cup travels less than least_c in both directions.
    """
    up = _fastest_way(trace.time_s, trace.cup_c, least_c)
    down = _fastest_way(trace.time_s, -trace.cup_c, least_c)
    if up is None and down is None:
        raise Refused(
            "travel-too-short",
            f"The cup travels less than {least_c:g} °C in this trace.",
            where="trace",
            fix="Record the cup while it is heated to its highest and cooled to its lowest.",
        )
    return Travel(up, down)


def _fastest_way(time_s: np.ndarray, rising_c: np.ndarray, least_c: float) -> float | None:
    """Return the mean rate of the longest rise of a curve in a minute, None where none is long."""
    lowest_so_far = np.minimum.accumulate(rising_c)
    end = int(np.argmax(rising_c - lowest_so_far))
    begin = int(np.flatnonzero(rising_c[: end + 1] == lowest_so_far[end])[-1])
    rise_c = float(rising_c[end] - rising_c[begin])
    if rise_c < least_c:
        return None
    way = rising_c[begin : end + 1]
    first = int(np.flatnonzero(way <= rising_c[begin] + 0.1 * rise_c)[-1])
    last = int(np.flatnonzero(way >= rising_c[begin] + 0.9 * rise_c)[0])
    minutes = float(time_s[begin + last] - time_s[begin + first]) / 60
    return float(way[last] - way[first]) / minutes if minutes > 0 else None
