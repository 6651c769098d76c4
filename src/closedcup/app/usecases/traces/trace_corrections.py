"""Whether a trace was already corrected for pressure: asked, stated, and taken off once."""

from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.laboratory import Series
from closedcup.methods import correction_c
from closedcup.metrology.traces import Trace
from closedcup.quantities import Pressure, parse_pressure
from closedcup.records.facts import TraceMapping

_TRACE: Final = "trace of the ramp"
_AS_SHOWN: Final = ", as the cup showed it"
_CORRECTED: Final = ", corrected by the apparatus with "
_SAYS_CORRECTED: Final = ("corr", "korr", "101.3", "101,3", "1013")


@dataclass(frozen=True, slots=True)
class Scale:
    """What was said of a trace's temperatures.

    corrected_for: the pressure with which the apparatus had corrected them to 101.3 kPa; as_shown:
    that they are what the cup showed. Neither: nothing was said.
    """

    corrected_for: Pressure | None = None
    as_shown: bool = False

    @property
    def words(self) -> str:
        """What is kept beside the file, so that it is known when it is looked at again."""
        if self.corrected_for is not None:
            return f"{_TRACE}{_CORRECTED}{self.corrected_for}"
        return _TRACE + (_AS_SHOWN if self.as_shown else "")


def scale_in(words: str) -> Scale | None:
    """Return what was said of a kept trace; None for a file that is none."""
    if not words.startswith(_TRACE):
        return None
    said = words.removeprefix(_TRACE)
    if said.startswith(_CORRECTED):
        return Scale(parse_pressure(said.removeprefix(_CORRECTED)))
    return Scale(as_shown=said == _AS_SHOWN)


def as_the_cup_showed(
    trace: Trace, mapping: TraceMapping, scale: Scale, series: Series | None
) -> Trace:
    """Return a trace on the cup's own scale; a correction is taken off once and noted.

    InputError where both were said, or nothing was and something speaks of a correction: the
    column's heading, or the readings of the series it belongs to.
    """
    if scale.corrected_for is not None and scale.as_shown:
        raise InputError(
            "scale-contradictory",
            "The temperatures cannot be as the cup showed them and corrected at once.",
            where="temperature",
            fix="Say one of the two.",
        )
    if scale.corrected_for is None:
        if not scale.as_shown:
            _ask_where_in_doubt(mapping, series)
        return trace
    shift_c = float(correction_c(scale.corrected_for.kpa))
    note = (
        f"The apparatus had corrected the temperatures with {scale.corrected_for}: {shift_c:+.2f} "
        "°C were taken off again, so that nothing is corrected twice."
    )
    return Trace(trace.time_s, trace.cup_c - shift_c, trace.detector, (*trace.notes, note))


def _ask_where_in_doubt(mapping: TraceMapping, series: Series | None) -> None:
    heading = mapping.temperature.lower()
    because = ""
    if any(word in heading for word in _SAYS_CORRECTED):
        because = f"The heading “{mapping.temperature}” speaks of a correction."
    elif series is not None:
        for recorded in series.moves:
            reading = recorded.reading
            if reading is not None and reading.already_corrected_for is not None:
                because = (
                    f"The display was read as corrected with {reading.already_corrected_for} in "
                    f"series {series.id}."
                )
    if because:
        raise InputError(
            "correction-unstated",
            f"{because} Is the trace corrected for pressure as well?",
            where="temperature",
            fix="Say with which pressure (--corrected-for “84.6 kPa”), or that it is as the cup "
            "showed it (--as-shown).",
        )
