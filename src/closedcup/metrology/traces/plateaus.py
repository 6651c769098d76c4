"""Plateaus of a trace: where the cup stood still long enough to count as a dwell."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.metrology.traces.trace import Floats, Trace

_BLOCK_S: Final = 10.0
"""Readings are averaged over this before they are compared, so that noise ends no plateau."""


@dataclass(frozen=True, slots=True)
class Plateau:
    """A stretch of time in which the cup stayed within the tolerance; cup_c is its mean."""

    from_s: float
    to_s: float
    cup_c: float

    @property
    def length_s(self) -> float:
        """How long it lasted."""
        return self.to_s - self.from_s


def plateaus(
    trace: Trace, *, tolerance_c: float = 0.2, at_least_s: float = 60.0
) -> tuple[Plateau, ...]:
    """Return the stretches in which ten-second means stay within ± tolerance_c, in order.

    A slow ramp is no plateau: at_least_s times the rate must exceed twice the tolerance.
    """
    times, means = _blocks(trace)
    found: list[Plateau] = []
    begin = 0
    while begin < times.size:
        end = _end_of_stretch(means, begin, 2 * tolerance_c)
        to_s = times[end] if end < times.size else trace.time_s[-1]
        if to_s - times[begin] >= at_least_s:
            found.append(Plateau(float(times[begin]), float(to_s), float(means[begin:end].mean())))
            begin = end
        else:
            begin += 1
    return tuple(found)


def _end_of_stretch(means: Floats, begin: int, spread_c: float) -> int:
    low = high = float(means[begin])
    end = begin + 1
    while end < means.size:
        low, high = min(low, float(means[end])), max(high, float(means[end]))
        if high - low > spread_c:
            break
        end += 1
    return end


def _blocks(trace: Trace) -> tuple[Floats, Floats]:
    """Return the first time and the mean temperature of each block that holds a reading."""
    number = (trace.time_s / max(_BLOCK_S, trace.interval_s)).astype(int)
    _, first, which, count = np.unique(
        number, return_index=True, return_inverse=True, return_counts=True
    )
    return trace.time_s[first], np.bincount(which, weights=trace.cup_c) / count
