"""What a test says that was ended before its method was carried through, for want of sample.

What was seen stands as far as it goes: a flash is a highest possible flash point, a no flash a
lowest one. A value outside the method's window is called approximate; nothing is made of nothing.
"""

import math
from collections.abc import Iterable, Sequence

from closedcup.errors import InputError
from closedcup.methods.determination import Determination
from closedcup.methods.moves import Move, SeriesEnded, standing_moves
from closedcup.methods.permission import forbidden
from closedcup.methods.setpoint import SetPoint
from closedcup.methods.state import Ending, State


def ended_by(moves: Sequence[Move]) -> SeriesEnded | None:
    """Return the move that ended a test early, if it stands."""
    return next((move for _, move in standing_moves(moves) if isinstance(move, SeriesEnded)), None)


def permit_ending(state: State, move: SeriesEnded, *, specimen_in_cup: bool) -> None:
    """Refuse to end a test without a reason, or with a specimen still in the cup.

    Raises InputError without a reason, Refused with a specimen in the cup.
    """
    if not move.reason.strip():
        raise InputError(
            "reason-missing",
            "A series is ended before its time with a reason.",
            where="end",
            fix="Say why, for example “sample used up”.",
        )
    if specimen_in_cup:
        raise forbidden(
            "A specimen is in the cup.",
            state.method.clause("specimen"),
            "Finish with it, or record “specimen lost”; then end the series.",
        )


def early_ending(
    state: State,
    judged: Sequence[Determination],
    end: SeriesEnded,
    no_flash_cups_c: Iterable[float],
) -> Ending:
    """Return what a finite test says that was ended early.

    no_flash_cups_c: where there was no flash, as far as it counts.
    """
    why = f"Ended early: {end.reason.strip().rstrip('.')}."
    standing = [one for one in judged if one.status != "withdrawn" and one.flashed]
    lowest_c = min((one.cup_c for one in standing), default=math.inf)
    no_flash_cup_c = max((cup_c for cup_c in no_flash_cups_c if cup_c < lowest_c), default=None)
    approximate = [one for one in standing if one.status == "approximate"]
    if approximate:
        return _approximate(state, approximate[-1], why)
    if standing:
        above = "" if no_flash_cup_c is None else f", no flash at {no_flash_cup_c:g} °C"
        return Ending(
            "flash at or below",
            f"Flash at {lowest_c:g} °C{above} (cup): the flash point is at or below the flash. "
            f"{why}",
            highest_no_flash_cup_c=no_flash_cup_c,
            lowest_flash_cup_c=lowest_c,
            confirmed=False,
        )
    if no_flash_cup_c is not None:
        return Ending(
            "no flash up to",
            f"No flash up to {no_flash_cup_c:g} °C (cup). {why} That is not proof that the sample "
            "does not burn.",
            highest_no_flash_cup_c=no_flash_cup_c,
            confirmed=False,
        )
    return Ending("stopped", f"Closed without a result. {why}", confirmed=False)


def _approximate(state: State, seen: Determination, why: str) -> Ending:
    return Ending(
        "approximate flash point",
        f"About {state.corrected(seen.cup_c):.0f} °C, corrected to 101.3 kPa (flash at "
        f"{seen.cup_c:g} °C in the cup): approximate, no result of the method. "
        f"{' '.join(seen.remarks)} {why}",
        observed_cup_c=seen.cup_c,
        lowest_flash_cup_c=seen.cup_c,
        confirmed=False,
    )


def early_ending_at_limit(
    point: SetPoint, judged: Sequence[Determination], end: SeriesEnded
) -> Ending:
    """Return what a test at a limit says that was ended early: one no flash, or nothing."""
    why = f"Ended early: {end.reason.strip().rstrip('.')}."
    seen = [one for one in judged if one.status == "valid" and not one.flashed]
    if not seen:
        return Ending("stopped", f"Closed without a result. {why}", confirmed=False)
    text = "A lone no flash: no second fresh specimen was tested, so rely on it with care."
    return Ending(
        "no flash",
        f"No flash at {point.tested_corrected_c:.1f} °C (101.3 kPa; {seen[0].cup_c:g} °C in the "
        f"cup), with one specimen. {why}",
        observed_cup_c=seen[0].cup_c,
        highest_no_flash_cup_c=seen[0].cup_c,
        confirmed=False,
        meets_limit=point.meets(flashed=False),
        warnings=(text,),
    )
