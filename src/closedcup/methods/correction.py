"""The chain of a result: probe correction, then pressure, then the method's rounding, once."""

from dataclasses import dataclass

from closedcup.methods.barometer import barometer_numbers, correction_c, pressure_warnings
from closedcup.quantities import Limit, decimal_text, round_half_up
from closedcup.sources import Known


@dataclass(frozen=True, slots=True)
class AlreadyCorrected:
    """The reading came corrected: by whom or what, and with which pressure (None: not known)."""

    by: str
    pressure_kpa: float | None


@dataclass(frozen=True, slots=True)
class CorrectionStep:
    """One line of the chain and where its number comes from."""

    what: str
    value_c: float
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class CorrectedReading:
    """A cup reading and what became of it; every stage is kept.

    reading_c: as read. observed_cup_c: the cup reading with any earlier pressure correction taken
    off. probe_correction_c: None when none is on record. corrected_c: at 101.3 kPa, unrounded.
    reported_c: rounded once. rounding_decides: rounded and unrounded fall on different sides of
    the limit asked about.
    """

    reading_c: float
    observed_cup_c: float
    probe_correction_c: float | None
    pressure_kpa: float | None
    already_corrected: AlreadyCorrected | None
    correction_c: float
    corrected_c: float
    rounding_step_c: float
    reported_c: float
    rounding_decides: bool
    warnings: tuple[str, ...]
    steps: tuple[CorrectionStep, ...]

    @property
    def reported_text(self) -> str:
        """The reported value with the decimals of its rounding step."""
        return decimal_text(self.reported_c, self.rounding_step_c)

    def sources(self) -> list[dict[str, str]]:
        """Return the entries of a `sources` list."""
        return [
            {"value_of": step.what, "source": step.source, "known": step.known}
            for step in self.steps
        ]


def correct(  # noqa: PLR0913 - what was read and what it was read under, each by name
    reading_c: float,
    *,
    pressure_kpa: float,
    rounding_step_c: float,
    probe_correction_c: float | None = None,
    already_corrected: AlreadyCorrected | None = None,
    limit: Limit | None = None,
) -> CorrectedReading:
    """Correct a cup reading to 101.3 kPa and round it once, half up.

    A reading that was already corrected is first brought back with the pressure used then, so
    that nothing is corrected twice and a wrong pressure does not survive. When that pressure is
    not known the reading stands as corrected and says so. `limit` asks whether rounding decides.
    """
    earlier_c, used_kpa, warnings = _undo(already_corrected, pressure_kpa)
    observed_cup_c = reading_c - earlier_c
    pressure_correction_c = 0.0 if used_kpa is None else correction_c(used_kpa)
    unrounded_c = observed_cup_c + (probe_correction_c or 0.0) + pressure_correction_c
    unrounded_c = round(unrounded_c, 9)  # binary noise of sums of decimals
    reported_c = round_half_up(unrounded_c, rounding_step_c)
    per_kpa = barometer_numbers().correction_per_kpa
    rounding_decides = limit is not None and limit.holds(unrounded_c) != limit.holds(reported_c)
    if rounding_decides and limit is not None:
        rounded = decimal_text(reported_c, rounding_step_c)
        text = (
            f"Rounding decides: {unrounded_c:.2f} °C unrounded and {rounded} °C as reported fall "
            f"on different sides of {limit}."
        )
        warnings += (text,)
    if probe_correction_c is None:
        warnings += ("No probe correction is on record; none was applied.",)
    return CorrectedReading(
        reading_c=reading_c,
        observed_cup_c=observed_cup_c,
        probe_correction_c=probe_correction_c,
        pressure_kpa=used_kpa,
        already_corrected=already_corrected,
        correction_c=pressure_correction_c,
        corrected_c=unrounded_c,
        rounding_step_c=rounding_step_c,
        reported_c=reported_c,
        rounding_decides=rounding_decides,
        warnings=warnings,
        steps=(
            *_to_the_cup(reading_c, observed_cup_c),
            _probe_step(observed_cup_c, probe_correction_c),
            CorrectionStep("corrected to 101.3 kPa", unrounded_c, per_kpa.source, per_kpa.known),
            CorrectionStep(
                f"reported, rounded half up to {rounding_step_c:g} °C",
                reported_c,
                "the method's rounding; half up by decision of the program",
                "common practice",
            ),
        ),
    )


def _undo(
    already: AlreadyCorrected | None, station_kpa: float
) -> tuple[float, float | None, tuple[str, ...]]:
    """Return the earlier correction, the pressure to use now, and warnings."""
    if already is None:
        return 0.0, station_kpa, pressure_warnings(station_kpa)
    if already.pressure_kpa is None:
        text = (
            f"The reading was corrected for pressure by {already.by}, with a pressure that is not "
            "on record; it was not corrected again and cannot be checked."
        )
        return 0.0, None, (text,)
    warnings = pressure_warnings(station_kpa)
    if abs(already.pressure_kpa - station_kpa) > barometer_numbers().barometer_accuracy.value:
        text = (
            f"{already.by} corrected with {already.pressure_kpa:.1f} kPa while the station's "
            f"pressure is {station_kpa:.1f} kPa; the station's pressure was used instead."
        )
        warnings += (text,)
    return correction_c(already.pressure_kpa), station_kpa, warnings


def _to_the_cup(reading_c: float, observed_cup_c: float) -> tuple[CorrectionStep, ...]:
    read = CorrectionStep("reading", reading_c, "the determination", "user")
    if observed_cup_c == reading_c:
        return (read,)
    per_kpa = barometer_numbers().correction_per_kpa
    undone = CorrectionStep(
        "cup reading, earlier correction taken off", observed_cup_c, per_kpa.source, per_kpa.known
    )
    return (read, undone)


def _probe_step(observed_cup_c: float, probe_correction_c: float | None) -> CorrectionStep:
    what = "after probe correction" + (" (none on record)" if probe_correction_c is None else "")
    return CorrectionStep(
        what, observed_cup_c + (probe_correction_c or 0.0), "the apparatus's probe check", "user"
    )
