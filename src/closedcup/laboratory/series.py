"""A series of determinations: one requested test, one apparatus, one analyst, one pressure."""

from dataclasses import dataclass
from decimal import Decimal

from closedcup.methods import Move
from closedcup.quantities import Pressure


@dataclass(frozen=True, slots=True)
class Reading:
    """What the apparatus displayed when the igniter was applied.

    `already_corrected_for` is the pressure with which `corrected_by` had already corrected the
    display to 101.3 kPa; None says that it showed the cup's own temperature. So nothing is
    corrected twice.
    """

    displayed_c: Decimal
    already_corrected_for: Pressure | None = None
    corrected_by: str = ""


@dataclass(frozen=True, slots=True)
class RecordedMove:
    """A step at the bench: who saw it and when, who entered it and when, and what was displayed.

    Observer and enterer differ when a bench sheet is transcribed afterwards.
    """

    move: Move
    by: str
    entered_by: str
    observed_at: str
    recorded_at: str
    reading: Reading | None = None


@dataclass(frozen=True, slots=True)
class Series:
    """Determinations under one set of conditions, in the order in which they were recorded."""

    id: str
    test: str
    apparatus: str
    analyst: str
    begun_at: str
    pressure: Pressure
    pressure_kind: str
    start_cup_c: Decimal
    probe_correction_c: Decimal | None
    moves: tuple[RecordedMove, ...] = ()
