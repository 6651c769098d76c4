"""Traces of a heated cup: what they hold, how fast it was heated, where the flash lies.

Here: values in, values out, on the cup's own scale. Never here: files, columns, units as typed,
the numbers of a test method.
"""

from closedcup.metrology.traces.change_point import ChangePoint, locate_change
from closedcup.metrology.traces.flash import Lag, TraceFlash, find_flash
from closedcup.metrology.traces.heating_rate import HeatingRate, heating_rate
from closedcup.metrology.traces.plateaus import Plateau, plateaus
from closedcup.metrology.traces.trace import Trace, check_trace
from closedcup.metrology.traces.travel import Travel, travel_rates

__all__ = [
    "ChangePoint",
    "HeatingRate",
    "Lag",
    "Plateau",
    "Trace",
    "TraceFlash",
    "Travel",
    "check_trace",
    "find_flash",
    "heating_rate",
    "locate_change",
    "plateaus",
    "travel_rates",
]
