"""Published closed-cup test methods: their numbers as data, their procedures as pure functions.

Here: the catalogue of methods, pressure correction, set points, precision, and the procedures that
say what to do next and refuse what a method forbids. Never here: storage, input and output, the
clock, statistics of a laboratory. No condition is hidden in a data file.
"""

from closedcup.methods.aim import Aim, FiniteAim, LimitAim
from closedcup.methods.barometer import (
    barometer_numbers,
    check_station_pressure,
    corrected_c,
    correction_c,
    cup_reading_c,
    pressure_warnings,
)
from closedcup.methods.catalogue import bibliography, method, methods
from closedcup.methods.cautions import Caution, cautions_for, cautions_of
from closedcup.methods.choosing import Choice, choose
from closedcup.methods.confirmation import (
    Confirmation,
    Parameter,
    check_confirmation,
    differs,
    numbers_of,
    parameters,
    with_confirmations,
)
from closedcup.methods.correction import AlreadyCorrected, CorrectedReading, correct
from closedcup.methods.cup import settable
from closedcup.methods.determination import Determination
from closedcup.methods.handling import handling_warnings
from closedcup.methods.moves import (
    CupRecovered,
    CupSet,
    DeviationNoted,
    IgniterApplied,
    Move,
    MoveWithdrawn,
    RampStarted,
    RateChecked,
    SeriesEnded,
    SpecimenLoaded,
    standing_moves,
)
from closedcup.methods.need import TRAITS, Need, parse_purpose, parse_trait
from closedcup.methods.observation import Observation
from closedcup.methods.precision import (
    Precision,
    precision_at,
    repeatability_c,
    reproducibility_c,
)
from closedcup.methods.procedure import advance, begin, determinations, instruction, outcome, replay
from closedcup.methods.published_method import (
    PROCEDURES,
    PRODUCTS,
    Method,
    Statement,
    parse_product,
)
from closedcup.methods.reach import Reach
from closedcup.methods.repeats import repeat_rule
from closedcup.methods.setpoint import SetPoint, set_point
from closedcup.methods.state import Instruction, Outcome, State
from closedcup.methods.unfit import refuse_open_cup, refuse_unguided

__all__ = [
    "PROCEDURES",
    "PRODUCTS",
    "TRAITS",
    "Aim",
    "AlreadyCorrected",
    "Caution",
    "Choice",
    "Confirmation",
    "CorrectedReading",
    "CupRecovered",
    "CupSet",
    "Determination",
    "DeviationNoted",
    "FiniteAim",
    "IgniterApplied",
    "Instruction",
    "LimitAim",
    "Method",
    "Move",
    "MoveWithdrawn",
    "Need",
    "Observation",
    "Outcome",
    "Parameter",
    "Precision",
    "RampStarted",
    "RateChecked",
    "Reach",
    "SeriesEnded",
    "SetPoint",
    "SpecimenLoaded",
    "State",
    "Statement",
    "advance",
    "barometer_numbers",
    "begin",
    "bibliography",
    "cautions_for",
    "cautions_of",
    "check_confirmation",
    "check_station_pressure",
    "choose",
    "correct",
    "corrected_c",
    "correction_c",
    "cup_reading_c",
    "determinations",
    "differs",
    "handling_warnings",
    "instruction",
    "method",
    "methods",
    "numbers_of",
    "outcome",
    "parameters",
    "parse_product",
    "parse_purpose",
    "parse_trait",
    "precision_at",
    "pressure_warnings",
    "refuse_open_cup",
    "refuse_unguided",
    "repeat_rule",
    "repeatability_c",
    "replay",
    "reproducibility_c",
    "set_point",
    "settable",
    "standing_moves",
    "with_confirmations",
]
