"""Temperatures, temperature differences, pressures, amounts: parse, format, convert, round.

Nothing of the trade lives here. What a person types is parsed once, at the edge, into one of
these values; inside, numbers are plain floats with the unit in the name (`flash_c`,
`pressure_kpa`). A bare number is never guessed.
"""

from closedcup.quantities.amounts import Amount, parse_amount, parse_fraction
from closedcup.quantities.limits import Limit, parse_limit
from closedcup.quantities.physical import (
    Duration,
    KinematicViscosity,
    Length,
    Volume,
    parse_altitude,
    parse_duration,
    parse_length,
    parse_viscosity,
    parse_volume,
)
from closedcup.quantities.pressure import (
    Pressure,
    parse_pressure,
    parse_pressure_difference,
    standard_pressure_kpa,
)
from closedcup.quantities.rounding import decimal_text, round_half_up
from closedcup.quantities.temperature import (
    Temperature,
    TemperatureDifference,
    parse_difference,
    parse_temperature,
)

__all__ = [
    "Amount",
    "Duration",
    "KinematicViscosity",
    "Length",
    "Limit",
    "Pressure",
    "Temperature",
    "TemperatureDifference",
    "Volume",
    "decimal_text",
    "parse_altitude",
    "parse_amount",
    "parse_difference",
    "parse_duration",
    "parse_fraction",
    "parse_length",
    "parse_limit",
    "parse_pressure",
    "parse_pressure_difference",
    "parse_temperature",
    "parse_viscosity",
    "parse_volume",
    "round_half_up",
    "standard_pressure_kpa",
]
