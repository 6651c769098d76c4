"""The moves of a test, as they happened at the bench; nothing is ever changed, only added."""

from collections.abc import Sequence
from dataclasses import dataclass

from closedcup.methods.observation import Observation


@dataclass(frozen=True, slots=True)
class CupSet:
    """The cup is set to a temperature (what the cup shall show)."""

    cup_c: float


@dataclass(frozen=True, slots=True)
class SpecimenLoaded:
    """A fresh specimen went into the cup, which then showed `cup_c`."""

    specimen: int
    volume_ml: float
    cup_c: float


@dataclass(frozen=True, slots=True)
class CupRecovered:
    """After a loading the cup showed its set temperature again; the dwell counts from here."""

    cup_c: float


@dataclass(frozen=True, slots=True)
class RampStarted:
    """Heating at the method's rate began (heated procedures only).

    `automatic`: the apparatus applies the igniter by itself at the method's interval, so that
    applications with no flash between the recorded ones need no press of their own.
    """

    cup_c: float
    automatic: bool = True


@dataclass(frozen=True, slots=True)
class RateChecked:
    """The heating rate was measured while a ramp was running, with a clock and the cup."""

    degc_per_min: float


@dataclass(frozen=True, slots=True)
class IgniterApplied:
    """The igniter was applied once: what the eye saw, and apart from it what the detector said.

    `dwell_s` is the time from loading to application; None where no clock was read.
    """

    cup_c: float
    eye: Observation
    detector: bool | None = None
    dwell_s: float | None = None


@dataclass(frozen=True, slots=True)
class MoveWithdrawn:
    """An earlier move (by its index) was recorded in error; it stays visible, with the reason."""

    index: int
    reason: str


@dataclass(frozen=True, slots=True)
class DeviationNoted:
    """Something was not done as the method says."""

    text: str


@dataclass(frozen=True, slots=True)
class SeriesEnded:
    """The test was given up before its method was carried through: the sample is used up."""

    reason: str


Move = (
    CupSet
    | SpecimenLoaded
    | CupRecovered
    | RampStarted
    | RateChecked
    | IgniterApplied
    | MoveWithdrawn
    | DeviationNoted
    | SeriesEnded
)


def withdrawn_indices(moves: Sequence[Move]) -> frozenset[int]:
    """Return the indices of the moves that were withdrawn."""
    return frozenset(move.index for move in moves if isinstance(move, MoveWithdrawn))


def standing_moves(moves: Sequence[Move]) -> list[tuple[int, Move]]:
    """Return the moves that were not withdrawn, each with its index in the whole record."""
    gone = withdrawn_indices(moves)
    return [
        (index, move)
        for index, move in enumerate(moves)
        if index not in gone and not isinstance(move, MoveWithdrawn)
    ]
