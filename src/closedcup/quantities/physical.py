"""Durations, lengths, volumes and viscosities, which the relief rules and benches need."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from closedcup.errors import InputError
from closedcup.quantities.reading import read_quantity


@dataclass(frozen=True, slots=True)
class Duration:
    """A time span as typed."""

    value: Decimal
    unit: str

    @property
    def s(self) -> float:
        """The duration in seconds."""
        return float(self.value * {"s": 1, "min": 60, "h": 3600}[self.unit])


@dataclass(frozen=True, slots=True)
class Length:
    """A length as typed (a jet's bore)."""

    value: Decimal
    unit: str

    @property
    def mm(self) -> float:
        """The length in millimetres."""
        return float(self.value * {"mm": 1, "cm": 10, "m": 1000}[self.unit])


@dataclass(frozen=True, slots=True)
class Volume:
    """A volume as typed."""

    value: Decimal
    unit: str

    @property
    def ml(self) -> float:
        """The volume in millilitres."""
        return float(self.value * {"mL": 1, "cL": 10, "L": 1000, "m3": 1_000_000}[self.unit])

    @property
    def litres(self) -> float:
        """The volume in litres."""
        return self.ml / 1000


@dataclass(frozen=True, slots=True)
class KinematicViscosity:
    """A kinematic viscosity as typed."""

    value: Decimal
    unit: str

    @property
    def mm2_s(self) -> float:
        """The viscosity in square millimetres a second (centistokes)."""
        return float(self.value * {"mm2/s": 1, "St": 100}[self.unit])


_DURATIONS: Final = {"s": "s", "sec": "s", "min": "min", "h": "h"}
_LENGTHS: Final = {"mm": "mm", "cm": "cm", "m": "m"}
_VOLUMES: Final = {"ml": "mL", "cl": "cL", "l": "L", "litre": "L", "litres": "L", "m3": "m3"}
_VISCOSITIES: Final = {"mm2/s": "mm2/s", "mm²/s": "mm2/s", "cst": "mm2/s", "st": "St"}


def _read_positive(
    text: str, units: Mapping[str, str], *, what: str, example: str, where: str
) -> tuple[Decimal, str]:
    value, unit = read_quantity(text, units, what=what, example=example, where=where)
    if value <= 0:
        raise InputError(
            "not-positive",
            f"A {what} of {value} {unit} is not possible.",
            where=where,
            fix="Enter a value above zero.",
        )
    return value, unit


def parse_duration(text: str, *, where: str = "time") -> Duration:
    """Read "70 s" or "2 min"."""
    return Duration(*_read_positive(text, _DURATIONS, what="time", example="70 s", where=where))


def parse_length(text: str, *, where: str = "length") -> Length:
    """Read "4 mm"."""
    return Length(*_read_positive(text, _LENGTHS, what="length", example="4 mm", where=where))


def parse_volume(text: str, *, where: str = "volume") -> Volume:
    """Read "450 L" or "2 mL"."""
    return Volume(*_read_positive(text, _VOLUMES, what="volume", example="450 L", where=where))


def parse_viscosity(text: str, *, where: str = "viscosity") -> KinematicViscosity:
    """Read "90 mm2/s" or "90 cSt"."""
    return KinematicViscosity(
        *_read_positive(text, _VISCOSITIES, what="viscosity", example="90 mm2/s", where=where)
    )


def parse_altitude(text: str, *, where: str = "altitude") -> float:
    """Read "250 m" or "820 ft" as metres; an altitude may be zero or below sea level."""
    value, unit = read_quantity(
        text, {"m": "m", "ft": "ft"}, what="altitude", example="250 m", where=where
    )
    # The foot is 0.3048 m by definition (international foot, 1959; memory).
    return float(value if unit == "m" else value * Decimal("0.3048"))
