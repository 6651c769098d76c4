"""The cup temperatures a test may use: the method's scope and the apparatus's range together."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from closedcup.methods.barometer import cup_reading_c
from closedcup.methods.cup import CUP_RESOLUTION_C, SAME_C, settable
from closedcup.methods.published_method import Method

_NOISE_DIGITS: Final = 6  # binary noise of a temperature divided by the cup's resolution


@dataclass(frozen=True, slots=True)
class Reach:
    """What method, pressure and apparatus leave open; everything is what the cup shows.

    apparatus_*: None where nothing is on record.
    """

    method: Method
    pressure_kpa: float
    probe_correction_c: float | None
    apparatus_low_cup_c: float | None
    apparatus_high_cup_c: float | None

    @property
    def scope_low_cup_c(self) -> float | None:
        """The low end of the method's scope."""
        return self._cup(self.method.low_c)

    @property
    def scope_high_cup_c(self) -> float | None:
        """The high end of the method's scope."""
        return self._cup(self.method.high_c)

    @property
    def lowest_cup_c(self) -> float:
        """The lowest temperature at which the igniter may be applied, or -infinity."""
        ends = [one for one in (self.scope_low_cup_c, self.apparatus_low_cup_c) if one is not None]
        return _on_display(max(ends), math.ceil) if ends else -math.inf

    @property
    def highest_cup_c(self) -> float:
        """The highest temperature at which the igniter may be applied, or infinity."""
        ends = [
            one for one in (self.scope_high_cup_c, self.apparatus_high_cup_c) if one is not None
        ]
        return _on_display(min(ends), math.floor) if ends else math.inf

    @property
    def lowest_start_cup_c(self) -> float:
        """The lowest start: on a ramp below the scope, which is that of flash points."""
        if self.method.kind == "equilibrium":
            return self.lowest_cup_c
        if self.apparatus_low_cup_c is not None:
            return _on_display(self.apparatus_low_cup_c, math.ceil)
        numbers = self.method.numbers
        below_c = sum(
            numbers[key].value for key in ("start_offset", "start_tolerance") if key in numbers
        )
        lowest_c = self.lowest_cup_c - below_c
        return settable(lowest_c) if math.isfinite(lowest_c) else lowest_c

    @property
    def what_ends_it(self) -> str:
        """Whether the apparatus or the method's scope sets the highest temperature."""
        scope, apparatus = self.scope_high_cup_c, self.apparatus_high_cup_c
        if apparatus is not None and (scope is None or apparatus <= scope):
            return "the highest the apparatus reaches"
        return "the end of the method's scope"

    def allows(self, cup_c: float) -> bool:
        """Say whether the igniter may be applied at a cup temperature."""
        return self.lowest_cup_c - SAME_C <= cup_c <= self.highest_cup_c + SAME_C

    def allows_start(self, cup_c: float) -> bool:
        """Say whether a test may start at a cup temperature."""
        return self.lowest_start_cup_c - SAME_C <= cup_c <= self.highest_cup_c + SAME_C

    def _cup(self, corrected_c: float | None) -> float | None:
        if corrected_c is None:
            return None
        return cup_reading_c(
            corrected_c,
            pressure_kpa=self.pressure_kpa,
            probe_correction_c=self.probe_correction_c,
        )


def _on_display(cup_c: float, inward: Callable[[float], int]) -> float:
    """Round to the display towards the inside of the range."""
    return settable(inward(round(cup_c / CUP_RESOLUTION_C, _NOISE_DIGITS)) * CUP_RESOLUTION_C)
