"""The cup's set point for a flash / no-flash test at a limit, from the limit's operator."""

from dataclasses import dataclass
from typing import Final

from closedcup.methods.barometer import (
    barometer_numbers,
    correction_c,
    cup_reading_c,
    pressure_warnings,
)
from closedcup.methods.cup import settable
from closedcup.quantities import Limit

# "Just under" a limit is one step of the cup's display (common practice; docs/decisions).
JUST_UNDER_C: Final = 0.1


@dataclass(frozen=True, slots=True)
class SetPoint:
    """Where to set the cup so that flash or no flash answers the limit.

    tested_corrected_c: the temperature at 101.3 kPa that decides. cup_c: what the cup must show
    for it, unrounded; cup_settable_c: the same on the cup's display (0.1 °C).
    """

    limit: Limit
    tested_corrected_c: float
    cup_c: float
    cup_settable_c: float
    pressure_kpa: float
    probe_correction_c: float | None
    why: str
    steps: tuple[str, ...]
    warnings: tuple[str, ...]

    def meets(self, *, flashed: bool) -> bool:
        """Say whether the limit is met when the sample flashed, or not, at the set point."""
        return flashed if self.limit.operator in ("<", "<=") else not flashed


def set_point(
    limit: Limit, *, pressure_kpa: float, probe_correction_c: float | None = None
) -> SetPoint:
    """Return the cup's set point for a limit at the station's pressure.

    "≤ 60" and "> 60" are decided at 60.0: no flash there proves a flash point above 60.
    "< 60" and "≥ 60" are decided just under, at 59.9. The cup is set to
    S - 0.25 (101.3 - P) - probe correction.
    """
    just_under = limit.operator in ("<", ">=")
    tested = limit.corrected_c - (JUST_UNDER_C if just_under else 0.0)
    cup = cup_reading_c(tested, pressure_kpa=pressure_kpa, probe_correction_c=probe_correction_c)
    why = (
        f"“{limit}” is decided just under the limit, at {tested:.1f} °C: a flash there proves a "
        f"flash point below {limit.temperature}."
        if just_under
        else f"“{limit}” is decided at the limit, at {tested:.1f} °C: no flash there proves a "
        f"flash point above {limit.temperature}."
    )
    numbers = barometer_numbers()
    steps = (
        f"tested at 101.3 kPa: {tested:.2f} °C",
        (
            f"pressure: {tested:.2f} - {numbers.correction_per_kpa.value:g} "
            f"({numbers.standard_pressure.value:g} - {pressure_kpa:.2f}) = "
            f"{tested - correction_c(pressure_kpa):.3f} °C"
        ),
        "probe correction: none on record"
        if probe_correction_c is None
        else f"probe correction: - ({probe_correction_c:+.2f}) = {cup:.3f} °C",
    )
    return SetPoint(
        limit=limit,
        tested_corrected_c=tested,
        cup_c=cup,
        cup_settable_c=settable(cup),
        pressure_kpa=pressure_kpa,
        probe_correction_c=probe_correction_c,
        why=why,
        steps=steps,
        warnings=pressure_warnings(pressure_kpa),
    )
