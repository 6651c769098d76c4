"""What stands on the bench after a record of moves: the cup, and each specimen's run."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from closedcup.methods.moves import (
    CupRecovered,
    CupSet,
    IgniterApplied,
    Move,
    RampStarted,
    RateChecked,
    SpecimenLoaded,
    withdrawn_indices,
)


@dataclass(frozen=True, slots=True)
class Applied:
    """One igniter application, its place in the record, and whether it was withdrawn."""

    move_index: int
    application: IgniterApplied
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class Run:
    """One specimen from loading on."""

    loaded: SpecimenLoaded
    set_cup_c: float
    recovered: CupRecovered | None = None
    ramp: RampStarted | None = None
    applied: tuple[Applied, ...] = ()
    rates_degc_per_min: tuple[float, ...] = ()

    @property
    def standing(self) -> tuple[Applied, ...]:
        """The applications that were not withdrawn."""
        return tuple(one for one in self.applied if not one.withdrawn)


@dataclass(frozen=True, slots=True)
class Bench:
    """The cup's setting and all runs; the last run may still be in the cup."""

    set_cup_c: float | None = None
    runs: tuple[Run, ...] = ()
    last_in_cup: bool = False

    @property
    def in_cup(self) -> Run | None:
        """The run whose specimen has not been followed by another setting of the cup."""
        return self.runs[-1] if self.last_in_cup else None

    @property
    def used(self) -> frozenset[int]:
        """The numbers of the specimens that were loaded."""
        return frozenset(run.loaded.specimen for run in self.runs)


def bench_after(moves: Sequence[Move]) -> Bench:
    """Fold a record of moves; moves that were withdrawn leave only their trace."""
    gone = withdrawn_indices(moves)
    set_cup_c: float | None = None
    runs: list[Run] = []
    last_in_cup = False
    for index, move in enumerate(moves):
        if isinstance(move, IgniterApplied) and runs:
            applied = Applied(index, move, index in gone)
            runs[-1] = replace(runs[-1], applied=(*runs[-1].applied, applied))
        elif index in gone:
            continue
        elif isinstance(move, CupSet):
            set_cup_c, last_in_cup = move.cup_c, False
        elif isinstance(move, SpecimenLoaded) and set_cup_c is not None:
            runs.append(Run(move, set_cup_c))
            last_in_cup = True
        elif isinstance(move, CupRecovered) and runs:
            runs[-1] = replace(runs[-1], recovered=move)
        elif isinstance(move, RampStarted) and runs:
            runs[-1] = replace(runs[-1], ramp=move)
        elif isinstance(move, RateChecked) and runs:
            rates = (*runs[-1].rates_degc_per_min, move.degc_per_min)
            runs[-1] = replace(runs[-1], rates_degc_per_min=rates)
    return Bench(set_cup_c, tuple(runs), last_in_cup)
