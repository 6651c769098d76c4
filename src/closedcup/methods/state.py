"""A test in progress, what to do next, and what came out: values only."""

from dataclasses import dataclass
from typing import Literal

from closedcup.methods.aim import Aim, FiniteAim
from closedcup.methods.barometer import corrected_c, cup_reading_c
from closedcup.methods.cautions import Caution
from closedcup.methods.cup import CUP_RESOLUTION_C
from closedcup.methods.determination import Determination
from closedcup.methods.moves import Move
from closedcup.methods.published_method import Method
from closedcup.methods.reach import Reach

Action = Literal[
    "set cup",
    "load specimen",
    "await recovery",
    "start ramp",
    "wait and apply",
    "done",
    "stopped",
]
OutcomeKind = Literal[
    "flash point",
    "approximate flash point",
    "flash",
    "no flash",
    "flash at or below",
    "no flash up to",
    "stopped",
]


@dataclass(frozen=True, slots=True)
class State:
    """The test's terms and the moves made so far; everything else is derived from these.

    start_cup_c and the apparatus's range are what the cup shows. The pressure is the station's.
    seeks_volatile: a volatile contaminant is looked for.
    """

    method: Method
    aim: Aim
    start_cup_c: float
    pressure_kpa: float
    probe_correction_c: float | None
    product: str
    apparatus_low_cup_c: float | None = None
    apparatus_high_cup_c: float | None = None
    seeks_volatile: bool = False
    moves: tuple[Move, ...] = ()

    def cup(self, corrected: float) -> float:
        """Return what the cup shows at a corrected temperature."""
        return cup_reading_c(
            corrected,
            pressure_kpa=self.pressure_kpa,
            probe_correction_c=self.probe_correction_c,
        )

    def corrected(self, cup_c: float) -> float:
        """Bring a cup reading to 101.3 kPa; not rounded."""
        return corrected_c(
            cup_c, pressure_kpa=self.pressure_kpa, probe_correction_c=self.probe_correction_c
        )

    @property
    def reach(self) -> Reach:
        """The cup temperatures that method and apparatus leave open."""
        return Reach(
            method=self.method,
            pressure_kpa=self.pressure_kpa,
            probe_correction_c=self.probe_correction_c,
            apparatus_low_cup_c=self.apparatus_low_cup_c,
            apparatus_high_cup_c=self.apparatus_high_cup_c,
        )

    @property
    def step_c(self) -> float:
        """The last step of the search."""
        return self.aim.step_c if isinstance(self.aim, FiniteAim) else CUP_RESOLUTION_C


@dataclass(frozen=True, slots=True)
class Instruction:
    """What to do now, and why; `cup_c` is what the cup shall show.

    When the test is over, cup_c is the last temperature of the cup; specimen is 0 and takes 0 mL.
    """

    action: Action
    cup_c: float
    specimen: int
    specimen_ml: float
    dwell_s: float | None
    why: str
    clause: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Ending:
    """Why a test is over, before the record of its determinations is put with it."""

    kind: OutcomeKind
    text: str
    observed_cup_c: float | None = None
    highest_no_flash_cup_c: float | None = None
    lowest_flash_cup_c: float | None = None
    confirmed: bool | None = None
    meets_limit: bool | None = None
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came out of a test.

    kind: "flash point" (finite); "approximate flash point" where the sample was used up with
    nothing but a flash outside the method's window; "flash" or "no flash" at a set point; "flash
    at or below" the lowest or "no flash up to" the highest temperature reached; "stopped" where
    only a reviewer can go on, or where a test was closed without a result. observed_cup_c: the
    cup reading that is reported, uncorrected. The flash point lies between
    highest_no_flash_cup_c and lowest_flash_cup_c. confirmed: a no flash seen twice, or a flash
    that the method lets count. meets_limit: for a test at a limit.
    """

    kind: OutcomeKind
    text: str
    observed_cup_c: float | None
    highest_no_flash_cup_c: float | None
    lowest_flash_cup_c: float | None
    step_c: float
    rounding_step_c: float
    confirmed: bool | None
    meets_limit: bool | None
    determinations: tuple[Determination, ...]
    deviations: tuple[str, ...]
    warnings: tuple[str, ...]
