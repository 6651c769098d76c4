"""The card that begins a day at an apparatus, and the one that ends it."""

from dataclasses import dataclass

from closedcup.laboratory.apparatus import ServiceAnswer
from closedcup.quantities import Pressure


@dataclass(frozen=True, slots=True)
class DayCard:
    """What was looked at before the first specimen of a day, and the station's pressure then."""

    apparatus: str
    day: str
    checklist: str
    version: int
    answers: tuple[ServiceAnswer, ...]
    pressure: Pressure
    pressure_kind: str


@dataclass(frozen=True, slots=True)
class CloseDown:
    """What was done when work at an apparatus ended."""

    apparatus: str
    day: str
    checklist: str
    version: int
    answers: tuple[ServiceAnswer, ...]
