"""One determination: a fresh specimen, one temperature (or one ramp), what was observed."""

from dataclasses import dataclass
from typing import Literal

from closedcup.methods.bench import Applied, Run
from closedcup.methods.moves import IgniterApplied
from closedcup.methods.observation import CountsAs, Observation
from closedcup.methods.published_method import Method

Status = Literal["valid", "approximate", "void", "superseded", "withdrawn"]


@dataclass(frozen=True, slots=True)
class Determination:
    """What one specimen said, and whether it counts.

    set_cup_c: what the cup was set to (the start, on a ramp); cup_c: what it showed. counts_as
    follows the eye, or the detector where the method says so; both are kept. status: approximate
    is a flash outside the method's window, which only corrects what is expected. deviations: what
    was not as the method says. remarks: what else must be known.
    """

    number: int
    move_index: int
    specimen: int
    volume_ml: float
    set_cup_c: float
    cup_c: float
    dwell_s: float | None
    eye: Observation
    detector: bool | None
    counts_as: CountsAs
    status: Status
    deviations: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def flashed(self) -> bool:
        """Whether vapour burnt: a flash, or burning that went on."""
        return self.counts_as == "flash" or self.burnt_on

    @property
    def burnt_on(self) -> bool:
        """Whether vapour burnt on, which means that the flash point lies well below."""
        return self.eye is Observation.CONTINUOUS_BURNING


def determination(  # noqa: PLR0913 - what an application counts as, each by name
    number: int,
    run: Run,
    applied: Applied,
    *,
    counts_as: CountsAs,
    status: Status,
    deviations: tuple[str, ...],
    remarks: tuple[str, ...],
    dwell_s: float | None = None,
) -> Determination:
    """Return the determination that an application of a run makes; a withdrawn one is none."""
    application = applied.application
    return Determination(
        number=number,
        move_index=applied.move_index,
        specimen=run.loaded.specimen,
        volume_ml=run.loaded.volume_ml,
        set_cup_c=run.set_cup_c,
        cup_c=application.cup_c,
        dwell_s=dwell_s,
        eye=application.eye,
        detector=application.detector,
        counts_as=counts_as,
        status="withdrawn" if applied.withdrawn else status,
        deviations=() if applied.withdrawn else deviations,
        remarks=remarks,
    )


def counted(
    method: Method, product: str, application: IgniterApplied
) -> tuple[CountsAs, tuple[str, ...], tuple[str, ...]]:
    """Return what an application counts as, deviations and remarks.

    The eye decides, unless the method (or the method for that product) gives the call to the
    detector; then the detector decides between flash and no flash only. What stops or voids a
    determination is always the eye's.
    """
    by_eye = application.eye.counts_as
    detector = application.detector
    if by_eye in ("void", "stop"):
        return by_eye, (), ()
    by_detector = method.called_by_detector(product)
    if detector is None:
        missing = (
            (
                (
                    f"{method.designation} calls the flash by the detector, whose signal was not "
                    "recorded; the eye's call was used."
                ),
            )
            if by_detector
            else ()
        )
        return by_eye, missing, ()
    agrees = detector == (by_eye == "flash")
    decides = "detector" if by_detector else "eye"
    remarks = (
        ()
        if agrees
        else (
            (
                f"Eye ({application.eye}) and detector ({'flash' if detector else 'no flash'}) "
                f"disagree; the {decides} decides."
            ),
        )
    )
    if by_detector:
        return ("flash" if detector else "no flash"), (), remarks
    return by_eye, (), remarks
