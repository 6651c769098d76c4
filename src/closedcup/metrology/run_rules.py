"""Run rules by their published numbers: patterns inside the limits that chance seldom makes.

WE1 to WE4: Western Electric, Statistical Quality Control Handbook (1956). N1 to N8: Nelson,
Journal of Quality Technology 16 (1984) 237 (both memory). Inequalities are strict; a point on the
centre ends a run; in "k of n" the last point is one of the k.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Points:
    """z at the nearest and at the farthest place from the centre where each result may lie."""

    z: Floats
    near: Floats
    far: Floats


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule by number, in words; `hits` flags the points at which it is complete."""

    number: str
    words: str
    hits: Callable[[_Points], Flags]


def _in_window(flags: Flags, length: int, least: int) -> Flags:
    """Flag the ends of windows that hold at least `least` flagged points, the last among them."""
    found = np.zeros(flags.size, dtype=np.bool_)
    if flags.size >= length:
        counts = sliding_window_view(flags, length).sum(axis=1)
        found[length - 1 :] = (counts >= least) & flags[length - 1 :]
    return found


def _beyond(limit: float, length: int, least: int) -> Callable[[_Points], Flags]:
    """Return a rule for `least` of `length` beyond a limit on the same side."""
    return lambda points: (
        _in_window(points.near > limit, length, least)
        | _in_window(points.near < -limit, length, least)
    )


def _outside(limit: float, length: int) -> Callable[[_Points], Flags]:
    return lambda points: _in_window(np.abs(points.near) > limit, length, length)


def _within(limit: float, length: int) -> Callable[[_Points], Flags]:
    return lambda points: _in_window(np.abs(points.far) < limit, length, length)


def _trend(length: int) -> Callable[[_Points], Flags]:
    def hits(points: _Points) -> Flags:
        steps = np.diff(points.z, prepend=np.nan)
        return _in_window(steps > 0, length - 1, length - 1) | _in_window(
            steps < 0, length - 1, length - 1
        )

    return hits


def _alternation(length: int) -> Callable[[_Points], Flags]:
    def hits(points: _Points) -> Flags:
        steps = np.sign(np.diff(points.z))
        turns = np.zeros(points.z.size, dtype=np.bool_)
        turns[2:] = steps[1:] * steps[:-1] < 0
        return _in_window(turns, length - 2, length - 2)

    return hits


RULES: Final[dict[str, Rule]] = {
    rule.number: rule
    for rule in (
        Rule("WE1", "1 point beyond 3 σ", _beyond(3, 1, 1)),
        Rule("WE2", "2 of 3 beyond 2 σ on one side", _beyond(2, 3, 2)),
        Rule("WE3", "4 of 5 beyond 1 σ on one side", _beyond(1, 5, 4)),
        Rule("WE4", "8 in a row on one side of the centre", _beyond(0, 8, 8)),
        Rule("N1", "1 point beyond 3 σ", _beyond(3, 1, 1)),
        Rule("N2", "9 in a row on one side of the centre", _beyond(0, 9, 9)),
        Rule("N3", "6 in a row steadily rising or falling", _trend(6)),
        Rule("N4", "14 in a row alternating up and down", _alternation(14)),
        Rule("N5", "2 of 3 beyond 2 σ on one side", _beyond(2, 3, 2)),
        Rule("N6", "4 of 5 beyond 1 σ on one side", _beyond(1, 5, 4)),
        Rule("N7", "15 in a row within 1 σ", _within(1, 15)),
        Rule("N8", "8 in a row beyond 1 σ on either side", _outside(1, 8)),
    )
}
ZONE_RULES: Final = ("WE1", "WE2", "WE3", "WE4")
"""The rules that petroleum practice applies to a chart of single results (memory)."""


def rule_hits(
    z: ArrayLike, rules: Sequence[str] = ZONE_RULES, *, half_width: ArrayLike = 0.0
) -> dict[str, list[int]]:
    """Return for each rule that is met the positions, from 1, at which it is complete.

    z: results less the centre, in σ. half_width: half the resolution in σ; a result counts as
    beyond something only where the whole of what was rounded to it lies beyond, so that rounding
    signals nothing. Raises InputError for a rule that is not listed.
    """
    series = np.asarray(z, dtype=np.float64)
    half = np.broadcast_to(np.asarray(half_width, dtype=np.float64), series.shape)
    size = np.abs(series)
    points = _Points(series, np.sign(series) * np.maximum(size - half, 0.0), size + half)
    found = {}
    for number in rules:
        if number not in RULES:
            raise InputError(
                "rule-unknown",
                f"There is no run rule “{number}”.",
                where="rules",
                fix=f"Rules: {', '.join(RULES)}.",
            )
        positions = np.flatnonzero(RULES[number].hits(points)) + 1
        if positions.size:
            found[number] = positions.tolist()
    return found
