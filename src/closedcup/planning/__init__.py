"""Where to start, what to see to before any temperature, how many specimens it takes.

Here: choices that a method leaves free, made by stated rules. Never here: anything that weakens
what a method requires, storage, the clock.
"""

from closedcup.planning.contaminants import contaminant, contaminant_names
from closedcup.planning.knowledge import Bench, Contaminant, Expected, Knowledge
from closedcup.planning.specimens import SampleNeed, sample_need, specimens_as_written
from closedcup.planning.starting import Start, fahrenheit_suspected, starting_temperature
from closedcup.planning.stop_list import (
    StopDecision,
    StopItem,
    hazard_words,
    parse_hazard,
    stop_list,
    volume_conflict,
)

__all__ = [
    "Bench",
    "Contaminant",
    "Expected",
    "Knowledge",
    "SampleNeed",
    "Start",
    "StopDecision",
    "StopItem",
    "contaminant",
    "contaminant_names",
    "fahrenheit_suspected",
    "hazard_words",
    "parse_hazard",
    "sample_need",
    "specimens_as_written",
    "starting_temperature",
    "stop_list",
    "volume_conflict",
]
