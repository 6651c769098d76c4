"""Where a flash / no-flash test at a limit stands."""

from collections.abc import Sequence
from typing import Final

from closedcup.methods.aim import LimitAim
from closedcup.methods.cup import CUP_RESOLUTION_C, SAME_C
from closedcup.methods.determination import Determination
from closedcup.methods.finite import BOIL_OVERS_TO_STOP, boil_overs, masking
from closedcup.methods.observation import Observation
from closedcup.methods.search import Next
from closedcup.methods.setpoint import SetPoint, set_point
from closedcup.methods.state import Ending, State

# A no flash is relied on when two fresh specimens gave it (common practice, no source).
_NO_FLASHES_ASKED: Final = 2


def set_point_of(state: State) -> SetPoint:
    """Return the set point of a test at a limit."""
    assert isinstance(state.aim, LimitAim)  # noqa: S101 - asked of tests at a limit only
    return set_point(
        state.aim.limit,
        pressure_kpa=state.pressure_kpa,
        probe_correction_c=state.probe_correction_c,
    )


def next_at_limit(state: State, judged: Sequence[Determination]) -> Next | Ending:
    """Return the set point while a specimen is due there, or the answer.

    One flash answers. A lone no flash asks for a second fresh specimen; where the second flashes,
    the flash governs.
    """
    point = set_point_of(state)
    standing = [one for one in judged if one.status != "withdrawn"]
    valid = [one for one in standing if one.status == "valid"]
    masked = [one for one in standing if one.eye is Observation.SWOLLEN_FLAME]
    if masked:
        return masking(masked[0])
    flashes = [one for one in valid if one.flashed]
    no_flashes = [one for one in valid if not one.flashed]
    if flashes:
        return _flash(point, flashes[0], no_flashes)
    if len(no_flashes) >= _NO_FLASHES_ASKED:
        return _no_flash(point, no_flashes[-1])
    if boil_overs(standing) >= BOIL_OVERS_TO_STOP:
        return Ending(
            "stopped",
            f"The specimen boils over at or below the set point of {point.cup_settable_c:g} °C: "
            "stopped for the reviewer.",
        )
    if no_flashes:
        return Next(
            point.cup_settable_c,
            "confirmation",
            "A lone no flash is not relied on: repeat with a second fresh specimen.",
        )
    return Next(point.cup_settable_c, "start", point.why)


def _flash(point: SetPoint, seen: Determination, no_flashes: Sequence[Determination]) -> Ending:
    warnings: tuple[str, ...] = ()
    if no_flashes:
        text = (
            "One specimen flashed at the set point and one did not; the flash governs. The flash "
            "point lies near the limit: a finite determination tells how near."
        )
        warnings += (text,)
    if seen.burnt_on:
        warnings += ("Vapour burnt on: the flash point lies well below the limit.",)
    warnings += _off_the_set_point(point, seen)
    return Ending(
        "flash",
        f"Flash at {point.tested_corrected_c:.1f} °C (101.3 kPa; {seen.cup_c:g} °C in the cup).",
        observed_cup_c=seen.cup_c,
        lowest_flash_cup_c=seen.cup_c,
        confirmed=True,
        meets_limit=point.meets(flashed=True),
        warnings=warnings,
    )


def _no_flash(point: SetPoint, seen: Determination) -> Ending:
    return Ending(
        "no flash",
        f"No flash at {point.tested_corrected_c:.1f} °C (101.3 kPa; {seen.cup_c:g} °C in the "
        "cup), with two fresh specimens.",
        observed_cup_c=seen.cup_c,
        highest_no_flash_cup_c=seen.cup_c,
        confirmed=True,
        meets_limit=point.meets(flashed=False),
        warnings=_off_the_set_point(point, seen),
    )


def _off_the_set_point(point: SetPoint, seen: Determination) -> tuple[str, ...]:
    """Warn where the cup was off to the side that makes the answer weaker.

    A flash above the set point, or no flash below it, proves a little less than was asked.
    """
    off_c = seen.cup_c - point.cup_settable_c
    weaker_c = off_c if seen.flashed else -off_c
    if weaker_c <= CUP_RESOLUTION_C / 2 + SAME_C:
        return ()
    text = (
        f"The cup showed {seen.cup_c:g} °C instead of {point.cup_settable_c:g} °C: the answer "
        "holds for that temperature only."
    )
    return (text,)
