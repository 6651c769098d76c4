"""Whether a series of determinations holds together: a flash below a no flash does not."""

from collections.abc import Iterable
from dataclasses import dataclass

from closedcup.methods.cup import SAME_C


@dataclass(frozen=True, slots=True)
class Consistency:
    """The evidence that counts, and what must be repeated.

    counts: set cup temperature to the position (in the series) that counts there; a repeat that a
    reversal asked for supersedes what it repeats. repeat: temperatures due for repetition, lowest
    first. reversal: the flash and the no flash above it that do not hold together, while they
    stand. persists: both were repeated and still disagree; the series is void.
    """

    counts: dict[float, int]
    repeat: tuple[float, ...]
    reversal: tuple[float, float] | None
    persists: bool


def consistency(series: Iterable[tuple[float, bool]], reversal_c: float) -> Consistency:
    """Judge valid determinations (set cup temperature, flashed) in the order they were made.

    A no flash at `reversal_c` or more above a flash is a reversal: both temperatures are to be
    repeated with fresh specimens, whatever the first repeat says.
    """
    counts: dict[float, int] = {}
    flashed_at: dict[float, bool] = {}
    repeated: set[float] = set()
    due: list[float] = []
    pair: tuple[float, float] | None = None
    for position, (cup_c, flashed) in enumerate(series):
        counts[cup_c], flashed_at[cup_c] = position, flashed
        if cup_c in due:
            due.remove(cup_c)
            repeated.add(cup_c)
        if not due:
            pair = _reversal(flashed_at, reversal_c)
            due = [] if pair is None else [cup for cup in pair if cup not in repeated]
    return Consistency(counts, tuple(due), pair, persists=pair is not None and not due)


def _reversal(flashed_at: dict[float, bool], reversal_c: float) -> tuple[float, float] | None:
    flash_c = min((cup for cup, flashed in flashed_at.items() if flashed), default=None)
    if flash_c is None:
        return None
    above = [
        cup
        for cup, flashed in flashed_at.items()
        if not flashed and cup >= flash_c + reversal_c - SAME_C
    ]
    return (flash_c, min(above)) if above else None
