"""What is known before a test, and where it is made."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from closedcup.methods import Method, Reach, cup_reading_c

Composition = Literal["declared", "measured", "unknown"]


@dataclass(frozen=True, slots=True)
class Expected:
    """An estimated flash point with its interval, corrected to 101.3 kPa."""

    best_corrected_c: float
    low_corrected_c: float
    high_corrected_c: float
    basis: str = "the estimate"


@dataclass(frozen=True, slots=True)
class Contaminant:
    """A suspected contaminant and the lowest flash point it can have, corrected."""

    name: str
    lowest_flash_corrected_c: float


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What is known of the sample before the test; flash points are corrected to 101.3 kPa.

    typed_expected_corrected_c: what the analyst expects. previous_corrected_c: earlier results of
    this sample or source. is_waste: liquid waste, or a mixture nobody answers for.
    """

    composition: Composition
    estimate: Expected | None = None
    typed_expected_corrected_c: float | None = None
    previous_corrected_c: Sequence[float] = ()
    contaminants: Sequence[Contaminant] = ()
    is_waste: bool = False

    @property
    def is_cold(self) -> bool:
        """Whether nothing known can be relied on, so that the test starts cold."""
        nothing = (
            self.estimate is None
            and self.typed_expected_corrected_c is None
            and not self.previous_corrected_c
        )
        return self.composition == "unknown" or self.is_waste or nothing

    def ceilings(self) -> list[tuple[float, str]]:
        """Return every corrected temperature that the start must not exceed, with its reason."""
        found: list[tuple[float, str]] = []
        if self.estimate is not None:
            found.append((self.estimate.low_corrected_c, f"the lower end of {self.estimate.basis}"))
        if self.typed_expected_corrected_c is not None:
            found.append((self.typed_expected_corrected_c, "what the analyst expects"))
        if self.previous_corrected_c:
            found.append((min(self.previous_corrected_c), "the lowest earlier result"))
        found += [
            (one.lowest_flash_corrected_c, f"suspected {one.name}") for one in self.contaminants
        ]
        return sorted(found)


@dataclass(frozen=True, slots=True)
class Bench:
    """Where the test is made: station pressure, probe correction, what the cup can show, sample.

    available_ml: None where the volume left is not on record.
    """

    pressure_kpa: float
    probe_correction_c: float | None = None
    apparatus_low_cup_c: float | None = None
    apparatus_high_cup_c: float | None = None
    available_ml: float | None = None

    def reach(self, method: Method) -> Reach:
        """Return the cup temperatures that a method and this apparatus leave open."""
        return Reach(
            method=method,
            pressure_kpa=self.pressure_kpa,
            probe_correction_c=self.probe_correction_c,
            apparatus_low_cup_c=self.apparatus_low_cup_c,
            apparatus_high_cup_c=self.apparatus_high_cup_c,
        )

    def cup(self, corrected_c: float) -> float:
        """Return what the cup shows at a corrected temperature."""
        return cup_reading_c(
            corrected_c,
            pressure_kpa=self.pressure_kpa,
            probe_correction_c=self.probe_correction_c,
        )
