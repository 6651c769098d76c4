"""The pressure correction: 0.25 °C for each kPa below 101.3, and what a pressure must look like."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError
from closedcup.methods.catalogue import bibliography
from closedcup.quantities import standard_pressure_kpa
from closedcup.sources import Cited, load_rows, parse_known

PressureKind = Literal["station", "sea level"]
FloatOrArray = TypeVar("FloatOrArray", float, NDArray[np.float64])

# A station's pressure stays within these shares of the standard atmosphere's. Winter highs seldom
# pass 106.4 kPa at sea level (1.05 of 101.325) except over Siberia, and ordinary lows seldom fall
# under 93 kPa (0.92); memory. Above about 450 m a sea-level reading of 101.3 kPa is therefore
# outside what weather can bring; below 300 m it is not, and nothing is refused for being high.
_HIGHEST_WEATHER: Final = 1.05
_LOWEST_WEATHER: Final = 0.90
_CERTAIN_FROM_M: Final = 300.0
_SEA_LEVEL_KPA: Final = 101.325


@dataclass(frozen=True, slots=True)
class BarometerNumbers:
    """The cited numbers of the correction."""

    correction_per_kpa: Cited
    standard_pressure: Cited
    warn_below: Cited
    warn_above: Cited
    strong_warning_below: Cited
    barometer_accuracy: Cited


@cache
def barometer_numbers() -> BarometerNumbers:
    """Load the correction's numbers with their sources."""
    file = files("closedcup.methods") / "data" / "pressure_correction.csv"
    rows = load_rows(file, bibliography())
    return BarometerNumbers(
        **{
            row["name"]: Cited(
                float(row["value"]),
                row["unit"],
                row["source"],
                parse_known(row["known"], where=file.name),
                row["clause"],
            )
            for row in rows
        }
    )


def correction_c(pressure_kpa: FloatOrArray) -> FloatOrArray:
    """Return what is added to a cup reading to bring it to 101.3 kPa.

    0.25 (101.3 - P) in °C; scalar or array of any shape. The correction has been shown to hold
    from 98.0 to 104.7 kPa; `pressure_warnings` says how far outside that a pressure lies.
    Pressures typed in mmHg are converted, not given a coefficient of their own: the 0.03 printed
    in one method is 0.0333 rounded, 0.2 °C less at 700 mmHg. Source: pressure_correction.csv.
    """
    numbers = barometer_numbers()
    return numbers.correction_per_kpa.value * (numbers.standard_pressure.value - pressure_kpa)


def corrected_c(
    cup_c: FloatOrArray, *, pressure_kpa: float, probe_correction_c: float | None = None
) -> FloatOrArray:
    """Bring a cup reading to 101.3 kPa: probe correction first, then pressure; not rounded."""
    return cup_c + (probe_correction_c or 0.0) + correction_c(pressure_kpa)


def cup_reading_c(
    corrected: FloatOrArray, *, pressure_kpa: float, probe_correction_c: float | None = None
) -> FloatOrArray:
    """Return what the cup shows when the corrected temperature is `corrected`; the inverse."""
    return corrected - correction_c(pressure_kpa) - (probe_correction_c or 0.0)


def pressure_warnings(pressure_kpa: float) -> tuple[str, ...]:
    """Say when a pressure lies outside the span for which the correction has been shown."""
    numbers = barometer_numbers()
    low, high = numbers.warn_below.value, numbers.warn_above.value
    weak_below = numbers.strong_warning_below.value
    shown = f"{low:.1f} to {high:.1f} kPa"
    if pressure_kpa < weak_below:
        text = (
            f"STRONG WARNING: {pressure_kpa:.1f} kPa is below {weak_below:.1f} kPa, where no "
            "method text supports the pressure correction; state the pressure and the observed "
            "temperature with the result."
        )
    elif pressure_kpa < low:
        text = (
            f"{pressure_kpa:.1f} kPa is below {low:.1f} kPa: the pressure correction is strictly "
            f"correct only from {shown}."
        )
    elif pressure_kpa > high:
        text = (
            f"{pressure_kpa:.1f} kPa is above {high:.1f} kPa: the pressure correction is strictly "
            f"correct only from {shown}; check the barometer."
        )
    else:
        return ()
    return (text,)


def check_station_pressure(
    pressure_kpa: float, altitude_m: float | None, kind: PressureKind = "station"
) -> tuple[str, ...]:
    """Check that a pressure can be the one at the bench; return warnings.

    Raises InputError when the pressure is said to be reduced to sea level, when the altitude makes
    that certain, or when no weather brings so low a pressure. Weather-station and airport figures
    are reduced to sea level: at 500 m that hides 1.5 °C of correction.
    """
    if kind == "sea level":
        raise _sea_level(pressure_kpa, altitude_m, "is a pressure reduced to sea level")
    if altitude_m is None:
        text = "Whether the pressure is the station's own cannot be checked: no altitude on record."
        return (text,)
    standard_kpa = standard_pressure_kpa(altitude_m)
    if pressure_kpa > standard_kpa * _HIGHEST_WEATHER and altitude_m >= _CERTAIN_FROM_M:
        raise _sea_level(pressure_kpa, altitude_m, "must be a pressure reduced to sea level")
    if pressure_kpa < standard_kpa * _LOWEST_WEATHER:
        raise InputError(
            "impossible-pressure",
            f"{pressure_kpa:.1f} kPa is too low for {altitude_m:.0f} m, where about "
            f"{standard_kpa:.1f} kPa is usual.",
            where="pressure",
            fix="Check the barometer, its unit and the laboratory's altitude.",
        )
    nearer_sea_level = abs(pressure_kpa - _SEA_LEVEL_KPA) < abs(pressure_kpa - standard_kpa)
    tell_apart_kpa = barometer_numbers().barometer_accuracy.value
    if nearer_sea_level and standard_kpa < _SEA_LEVEL_KPA - tell_apart_kpa:
        text = (
            f"{pressure_kpa:.1f} kPa is nearer to sea level's usual pressure than to the "
            f"{standard_kpa:.1f} kPa usual at {altitude_m:.0f} m: make sure that it is the "
            "station's own pressure."
        )
        return (text,)
    return ()


def _sea_level(pressure_kpa: float, altitude_m: float | None, says: str) -> InputError:
    usual = (
        f" At {altitude_m:.0f} m about {standard_pressure_kpa(altitude_m):.1f} kPa is usual."
        if altitude_m is not None
        else ""
    )
    return InputError(
        "sea-level-pressure",
        f"{pressure_kpa:.1f} kPa {says}, not the pressure at the bench.{usual}",
        where="pressure",
        fix="Read an absolute barometer in the laboratory (station pressure).",
    )
