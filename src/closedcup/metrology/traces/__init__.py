"""Traces of a heated cup: what they hold, how fast it was heated, where the flash lies.

Here: values in, values out, on the cup's own scale. Never here: files, columns, units as typed,
the numbers of a test method.
"""

from closedcup.metrology.traces.change_point import ChangePoint, locate_change
from closedcup.metrology.traces.flash import TraceFlash, find_flash
from closedcup.metrology.traces.heating_rate import HeatingRate, heating_rate
from closedcup.metrology.traces.plateaus import Plateau, plateaus
from closedcup.metrology.traces.trace import Trace, check_trace

__all__ = [
    "ChangePoint",
    "HeatingRate",
    "Plateau",
    "Trace",
    "TraceFlash",
    "check_trace",
    "find_flash",
    "heating_rate",
    "locate_change",
    "plateaus",
]
