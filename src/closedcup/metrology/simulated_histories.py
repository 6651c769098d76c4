"""Simulated verification histories with one known cause each, to try a diagnosis on.

Shares no code with `metrology.diagnosis`, and simulates a laboratory rather than columns: a cup
flashes where it does at that day's pressure, the analyst corrects or does not, the result is
rounded, the reference value is taken off.

What it takes for granted. A verification about every two weeks, two results each, on one of three
reference materials in turn; a new lot of each material at some time. One change of lid and one of
igniter in the middle 60 % of the time; three operators by turns at random. The probe is calibrated
every half-year or so. Heating rates differ by up to a tenth of the method's from result to result
(methods allow that). The station's pressure wanders by 0.9 kPa (standard deviation) around that of
a site up to 1500 m high; with a pressure error the site is as high as the effect's size asks.
Noise is first-order autocorrelated from result to result, its correlation between 0 and 0.6, its
standard deviation r / 2.77. Reference values are exact, and one thing is wrong at a time.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError

Floats = NDArray[np.float64]

CLEAN: Final = "clean"
FAULTS: Final = (
    CLEAN,
    "constant offset",
    "grows with temperature",
    "pressure not corrected",
    "pressure corrected twice",
    "follows heating rate",
    "change of lid",
    "change of igniter",
    "change of operator",
    "change of lot",
    "drift since calibration",
    "first of the day",
    "scatter without bias",
)

_PER_DAY: Final = 2
_CORRELATION_UP_TO: Final = 0.6
_REPEATABILITY_OVER_DEVIATION: Final = 2.77  # 1.96 √2
# A flash point falls by 0.25 °C with each kPa below 101.3 (16 CFR 1500.43a and the methods).
_PER_KPA_C: Final = 0.25
_STANDARD_KPA: Final = 101.3
_WEATHER_KPA: Final = 0.9
_WEATHER_KEPT_FOR_DAYS: Final = 3.0
_RATE_SHARE: Final = 0.1
_CALIBRATED_EVERY_DAYS: Final = 180.0


@dataclass(frozen=True, slots=True)
class SimulatedHistory:
    """What a laboratory would have on record of its results on reference materials, n of each.

    `effect_c` is the size of what is wrong where it is largest, with its sign.
    """

    fault: str
    effect_c: float
    result_c: Floats
    reference_c: Floats
    repeatability_c: Floats
    pressure_kpa: Floats
    rate_c_per_min: Floats
    day: Floats
    days_since_calibration: Floats
    first_of_day: NDArray[np.bool_]
    lid: tuple[str, ...]
    igniter: tuple[str, ...]
    operator: tuple[str, ...]
    lot: tuple[str, ...]
    rounding_c: float


@dataclass(frozen=True, slots=True)
class Laboratory:
    """What the simulated laboratory works with.

    reference_c: certified values of its three materials. repeatability_c: r at a temperature.
    rate_c_per_min: the method's heating rate. rounding_c: what results are rounded to.
    """

    reference_c: tuple[float, float, float]
    repeatability_c: Callable[[float], float]
    rate_c_per_min: float = 5.5
    rounding_c: float = 0.5


def simulate_history(
    laboratory: Laboratory,
    fault: str,
    effect_in_r: float,
    generator: np.random.Generator,
    *,
    results: int = 30,
) -> SimulatedHistory:
    """Simulate one history with one fault of so many repeatabilities where it is largest.

    `effect_in_r` is ignored for a clean one. For scatter the site's repeatability is that much
    larger than the method's; for heating rate it is the difference between the slowest and the
    fastest. Raises InputError for a fault that is not simulated.
    """
    if fault not in FAULTS:
        raise InputError(
            "fault-unknown",
            f"“{fault}” is not simulated.",
            where="fault",
            fix=f"One of: {', '.join(FAULTS)}.",
        )
    scene = _Scene.drawn(laboratory, results, generator)
    r = np.array([laboratory.repeatability_c(float(one)) for one in scene.reference_c])
    sign = generator.choice([-1.0, 1.0])
    deviation = r / _REPEATABILITY_OVER_DEVIATION
    noise = deviation * _autocorrelated(results, generator)
    pressure, share, largest = scene.pressure_kpa, 0.0, 0.0
    shift = np.zeros(results)
    if fault == "scatter without bias":
        noise, largest = noise * (1 + effect_in_r), effect_in_r * float(r.mean())
    elif fault.startswith("pressure"):
        # How far the site lies below 101.3 kPa for the correction to be as large as asked.
        missing_kpa = effect_in_r * float(r.mean()) / _PER_KPA_C
        pressure = _STANDARD_KPA - missing_kpa + scene.weather_kpa
        share = -1.0 if fault == "pressure not corrected" else 1.0
        largest = share * float(np.abs(_STANDARD_KPA - pressure).max()) * _PER_KPA_C
    elif fault != CLEAN:
        pattern = scene.pattern(fault, generator)
        unit = float(r[np.argmax(np.abs(pattern))]) if fault in _WHERE_LARGEST else float(r.mean())
        largest = sign * effect_in_r * unit
        shift = largest * pattern
    observed = scene.reference_c - _PER_KPA_C * (_STANDARD_KPA - pressure) + noise + shift
    times_corrected = 1.0 + share
    corrected = observed + times_corrected * _PER_KPA_C * (_STANDARD_KPA - pressure)
    step = laboratory.rounding_c
    return SimulatedHistory(
        fault=fault,
        effect_c=largest,
        result_c=np.floor(corrected / step + 0.5) * step,
        reference_c=scene.reference_c,
        repeatability_c=r,
        pressure_kpa=pressure,
        rate_c_per_min=scene.rate,
        day=scene.day,
        days_since_calibration=scene.since_calibration,
        first_of_day=scene.first,
        lid=scene.lid,
        igniter=scene.igniter,
        operator=scene.operator,
        lot=scene.lot,
        rounding_c=step,
    )


# With these the effect is in r at the temperature where it is largest, else in the mean r.
_WHERE_LARGEST: Final = ("grows with temperature", "change of lot")


@dataclass(frozen=True, slots=True)
class _Scene:
    """Everything of a history except its results."""

    reference_c: Floats
    day: Floats
    pressure_kpa: Floats
    weather_kpa: Floats
    rate: Floats
    since_calibration: Floats
    first: NDArray[np.bool_]
    lid: tuple[str, ...]
    igniter: tuple[str, ...]
    operator: tuple[str, ...]
    lot: tuple[str, ...]

    @classmethod
    def drawn(
        cls, laboratory: Laboratory, results: int, generator: np.random.Generator
    ) -> "_Scene":
        visits = -(-results // _PER_DAY)
        gaps = generator.integers(10, 19, visits)
        days = np.cumsum(gaps).astype(np.float64)
        material = (np.arange(visits) + generator.integers(3)) % 3
        turned = np.array([_time_of_change(days, generator) for _ in range(3)])
        newer = days >= turned[material]
        since = (days + generator.uniform(0, _CALIBRATED_EVERY_DAYS)) % _CALIBRATED_EVERY_DAYS
        weather = _weather(days, generator)
        altitude_kpa = _pressure_at(generator.uniform(0, 1500))

        def each(values: NDArray[np.generic]) -> NDArray[np.generic]:
            return np.repeat(values, _PER_DAY)[:results]

        def changed(name: str) -> tuple[str, ...]:
            after = each(days >= _time_of_change(days, generator))
            return tuple(f"{name} 2" if one else f"{name} 1" for one in after)

        operators = each(generator.integers(3, size=visits))
        return cls(
            reference_c=np.asarray(each(np.array(laboratory.reference_c)[material]), float),
            day=np.asarray(each(days), float),
            pressure_kpa=np.asarray(each(altitude_kpa + weather), float),
            weather_kpa=np.asarray(each(weather), float),
            rate=laboratory.rate_c_per_min
            * (1 + _RATE_SHARE * generator.uniform(-1, 1, results)).round(3),
            since_calibration=np.asarray(each(np.floor(since)), float),
            first=np.arange(results) % _PER_DAY == 0,
            lid=changed("lid"),
            igniter=changed("igniter"),
            operator=tuple(f"operator {one}" for one in operators),
            lot=tuple(
                f"material {of} lot {2 if new else 1}"
                for of, new in zip(each(material), each(newer), strict=True)
            ),
        )

    def pattern(self, fault: str, generator: np.random.Generator) -> Floats:
        """Return the share of its effect that a fault has on each result."""
        share: Floats
        match fault:
            case "constant offset":
                share = np.ones_like(self.day)
            case "grows with temperature":
                share = self.reference_c / self.reference_c.max()
            case "follows heating rate":
                share = (self.rate - self.rate.mean()) / np.ptp(self.rate)
            case "drift since calibration":
                share = self.since_calibration / self.since_calibration.max()
            case "first of the day":
                share = self.first.astype(np.float64)
            case "change of operator":
                share = _one_of(self.operator, generator)
            case "change of lot":
                share = _one_of(self.lot, generator)
            case _:
                names = self.lid if fault == "change of lid" else self.igniter
                share = np.array([name.endswith("2") for name in names], dtype=np.float64)
        return share


def _one_of(names: tuple[str, ...], generator: np.random.Generator) -> Floats:
    chosen = generator.choice(sorted(set(names)))
    return np.array([name == chosen for name in names], dtype=np.float64)


def _time_of_change(days: Floats, generator: np.random.Generator) -> float:
    span = float(np.ptp(days))
    return float(days[0] + generator.uniform(0.2, 0.8) * span)


def _weather(days: Floats, generator: np.random.Generator) -> Floats:
    """Return how far the pressure is from the site's usual one on each day."""
    values = np.empty_like(days)
    values[0] = generator.normal()
    for place in range(1, days.size):
        kept = np.exp(-(days[place] - days[place - 1]) / _WEATHER_KEPT_FOR_DAYS)
        values[place] = kept * values[place - 1] + np.sqrt(1 - kept**2) * generator.normal()
    weather: Floats = _WEATHER_KPA * values
    return weather


def _pressure_at(altitude_m: float) -> float:
    """Return the usual pressure at an altitude: falling by a factor e in 8400 m (memory)."""
    return float(101.325 * np.exp(-altitude_m / 8400))


def _autocorrelated(count: int, generator: np.random.Generator) -> Floats:
    correlation = generator.uniform(0, _CORRELATION_UP_TO)
    fresh = generator.normal(size=count)
    values = np.empty(count)
    values[0] = fresh[0]
    for place in range(1, count):
        values[place] = correlation * values[place - 1] + np.sqrt(1 - correlation**2) * fresh[place]
    return values
