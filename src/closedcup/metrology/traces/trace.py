"""A trace as a value, and the checks that it must pass before anything is computed from it."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError

Floats = NDArray[np.float64]

FEWEST: Final = 20
"""Readings; fewer leave no base to see a flash against."""

# A cup is heated by at most 17 °C/min (open cup, first part of the run; memory), a flash lifts the
# probe by a few °C. What jumps further between two readings is a change of unit or a loose probe.
_JUMP_C: Final = 15.0
_FASTEST_C_PER_S: Final = 20 / 60
# No method of the catalogue reaches further than 370 °C; cooling baths end near -80 °C.
_LOWEST_C, _HIGHEST_C = -100.0, 500.0
_BESIDE: Final = 20
"""Readings on either side of a gap that tell how fast the cup was heated there."""
_LEAST_LEAP_C: Final = 3.0
"""A leap of the clock that would have heated the cup by less is not told from noise."""
_GAP_TIMES: Final = 5.0
"""A gap is an interval this many times the usual one."""


@dataclass(frozen=True, slots=True)
class Trace:
    """Readings of one heated cup in the order of time.

    time_s: seconds from the first reading, increasing. cup_c: what the cup showed, °C. detector:
    its signal in its own unit, None where there is none. notes: what was mended, in words.
    """

    time_s: Floats
    cup_c: Floats
    detector: Floats | None = None
    notes: tuple[str, ...] = ()

    @property
    def interval_s(self) -> float:
        """The usual time between two readings."""
        return float(np.median(np.diff(self.time_s)))


def check_trace(
    time_s: ArrayLike,
    cup_c: ArrayLike,
    detector: ArrayLike | None = None,
    *,
    rows: ArrayLike | None = None,
) -> Trace:
    """Return a trace of these readings, or raise InputError naming the row that breaks it.

    rows: the row of each reading in its file (else counted from 1). Readings of one and the same
    time become their mean, gaps stay; both are noted. InputError: fewer than 20 readings, not a
    number, a clock that goes back or leaps, a jump of the temperature, an impossible temperature.
    """
    times = np.asarray(time_s, dtype=np.float64).ravel()
    temperatures = np.asarray(cup_c, dtype=np.float64).ravel()
    signal = None if detector is None else np.asarray(detector, dtype=np.float64).ravel()
    at = np.arange(1, times.size + 1) if rows is None else np.asarray(rows).ravel()
    columns = [times, temperatures, *([] if signal is None else [signal])]
    _require_numbers(columns, at)
    _require_forward(times, at)
    _require_possible(temperatures, at)
    times, temperatures, signal, at, notes = _one_reading_a_time(times, temperatures, signal, at)
    if times.size < FEWEST:
        raise InputError(
            "trace-too-short",
            f"The trace has {times.size} readings at different times.",
            where="rows",
            fix=f"A trace needs at least {FEWEST}; export the whole run.",
        )
    _require_no_jump(times, temperatures, at)
    _require_steady_clock(times, temperatures, at)
    return Trace(times - times[0], temperatures, signal, (*notes, *_gaps(times, at)))


def _require_numbers(columns: list[Floats], at: NDArray[np.int64]) -> None:
    if len({column.size for column in columns}) != 1:
        raise InputError("columns-unequal", "The columns are not of one length.", where="trace")
    for column in columns:
        odd = np.flatnonzero(~np.isfinite(column))
        if odd.size:
            raise InputError("not-a-number", "A reading is missing.", where=f"row {at[odd[0]]}")


def _require_forward(times: Floats, at: NDArray[np.int64]) -> None:
    back = np.flatnonzero(np.diff(times) < 0)
    if back.size:
        first = int(back[0])
        raise InputError(
            "clock-back",
            f"The clock goes back by {times[first] - times[first + 1]:g} s.",
            where=f"row {at[first + 1]}",
            fix="If two runs stand in one file, keep one of them; if the clock was set, export the "
            "part before or after that row.",
        )


def _require_possible(temperatures: Floats, at: NDArray[np.int64]) -> None:
    odd = np.flatnonzero((temperatures < _LOWEST_C) | (temperatures > _HIGHEST_C))
    if odd.size:
        raise InputError(
            "impossible-temperature",
            f"A cup does not show {temperatures[odd[0]]:g} °C.",
            where=f"row {at[odd[0]]}",
            fix="Check the column, its unit (°C, °F, K) and the decimal mark.",
        )


def _require_no_jump(times: Floats, temperatures: Floats, at: NDArray[np.int64]) -> None:
    steps = np.diff(temperatures)
    odd = np.flatnonzero(np.abs(steps) > _JUMP_C + _FASTEST_C_PER_S * np.diff(times))
    if not odd.size:
        return
    first = int(odd[0])
    before, after = temperatures[first], temperatures[first + 1]
    unit_pairs = (
        (before * 1.8 + 32, "°C to °F"),
        ((before - 32) / 1.8, "°F to °C"),
        (before + 273.15, "°C to K"),
        (before - 273.15, "K to °C"),
    )
    looks = [words for value, words in unit_pairs if abs(value - after) < 2]
    raise InputError(
        "temperature-jump",
        f"The temperature jumps from {before:.1f} to {after:.1f} °C in one reading"
        + (f", as if the unit changed from {looks[0]}." if looks else "."),
        where=f"row {at[first + 1]}",
        fix="Export the run in one unit, or the part before or after that row; look at the probe.",
    )


def _require_steady_clock(times: Floats, temperatures: Floats, at: NDArray[np.int64]) -> None:
    """Refuse a clock that leaps while the cup is heated and its temperature does not follow."""
    steps = np.diff(times)
    for gap in np.flatnonzero(steps > _GAP_TIMES * np.median(steps)):
        before, after = slice(max(gap - _BESIDE, 0), gap + 1), slice(gap + 1, gap + 2 + _BESIDE)
        slopes = [_slope(times[side], temperatures[side]) for side in (before, after)]
        expected_c = min(slopes, key=abs) * float(steps[gap])
        moved_c = float(temperatures[gap + 1] - temperatures[gap])
        same_way = slopes[0] * slopes[1] > 0
        if same_way and abs(expected_c) >= _LEAST_LEAP_C and abs(moved_c) < 0.2 * abs(expected_c):
            raise InputError(
                "clock-jump",
                f"The clock jumps forward by {steps[gap]:g} s while the temperature moves by "
                f"{abs(moved_c):.1f} °C only, as if the clock was set.",
                where=f"row {at[gap + 1]}",
                fix="Export the part before or after that row; the rate over it has no meaning.",
            )


def _slope(times: Floats, temperatures: Floats) -> float:
    away = times - times.mean()
    squares = float(away @ away)
    return 0.0 if squares == 0 else float(away @ temperatures) / squares


def _one_reading_a_time(
    times: Floats, temperatures: Floats, signal: Floats | None, at: NDArray[np.int64]
) -> tuple[Floats, Floats, Floats | None, NDArray[np.int64], tuple[str, ...]]:
    different, first, which, count = np.unique(
        times, return_index=True, return_inverse=True, return_counts=True
    )
    if different.size == times.size:
        return times, temperatures, signal, at, ()

    def means(column: Floats) -> Floats:
        return np.bincount(which, weights=column) / count

    shared = times.size - different.size
    note = (
        f"{shared} readings share their time with the one before (first at row "
        f"{at[first[np.flatnonzero(count > 1)[0]] + 1]}); their mean was used."
    )
    averaged = None if signal is None else means(signal)
    return different, means(temperatures), averaged, at[first], (note,)


def _gaps(times: Floats, at: NDArray[np.int64]) -> tuple[str, ...]:
    steps = np.diff(times)
    odd = np.flatnonzero(steps > _GAP_TIMES * np.median(steps))
    if not odd.size:
        return ()
    longest = int(odd[np.argmax(steps[odd])])
    many = "One gap" if odd.size == 1 else f"{odd.size} gaps"
    note = (
        f"{many} in the readings, the longest {steps[longest]:g} s before row {at[longest + 1]}; "
        "nothing is known of that time."
    )
    return (note,)
