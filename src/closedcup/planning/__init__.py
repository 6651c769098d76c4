"""Where to start and test next, what to see to before any temperature, what it takes.

Here: choices that a method leaves free, made by stated rules. Never here: anything that weakens
what a method requires, storage, the clock.
"""

from closedcup.planning.advice import Advice
from closedcup.planning.belief import (
    Belief,
    Interval,
    Observed,
    even_prior,
    posterior_after,
    prior_from_interval,
)
from closedcup.planning.contaminants import contaminant, contaminant_names
from closedcup.planning.knowledge import Bench, Contaminant, Expected, Knowledge
from closedcup.planning.like_samples import interval_from_history, with_history
from closedcup.planning.next_temperature import next_free, next_under_method
from closedcup.planning.observing import Observing, scatter_from_repeatability
from closedcup.planning.pace import Pace, Weights, usual_pace, usual_weights
from closedcup.planning.planned_start import PlannedStart, plan_start
from closedcup.planning.simulation import Setting, Summary, best_possible_specimens, simulate
from closedcup.planning.specimens import SampleNeed, sample_need, specimens_as_written
from closedcup.planning.starting import (
    Start,
    fahrenheit_suspected,
    moved_start,
    starting_temperature,
)
from closedcup.planning.stop_list import (
    StopDecision,
    StopItem,
    hazard_words,
    parse_hazard,
    stop_list,
    volume_conflict,
)
from closedcup.planning.written_search import steps_of_method

__all__ = [
    "Advice",
    "Belief",
    "Bench",
    "Contaminant",
    "Expected",
    "Interval",
    "Knowledge",
    "Observed",
    "Observing",
    "Pace",
    "PlannedStart",
    "SampleNeed",
    "Setting",
    "Start",
    "StopDecision",
    "StopItem",
    "Summary",
    "Weights",
    "best_possible_specimens",
    "contaminant",
    "contaminant_names",
    "even_prior",
    "fahrenheit_suspected",
    "hazard_words",
    "interval_from_history",
    "moved_start",
    "next_free",
    "next_under_method",
    "parse_hazard",
    "plan_start",
    "posterior_after",
    "prior_from_interval",
    "sample_need",
    "scatter_from_repeatability",
    "simulate",
    "specimens_as_written",
    "starting_temperature",
    "steps_of_method",
    "stop_list",
    "usual_pace",
    "usual_weights",
    "volume_conflict",
    "with_history",
]
