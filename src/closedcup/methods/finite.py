"""Where a finite equilibrium test stands: the next temperature, or how it ended."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from closedcup.methods.consistency import Consistency
from closedcup.methods.cup import settable
from closedcup.methods.determination import Determination
from closedcup.methods.observation import Observation
from closedcup.methods.search import Evidence, Found, Next, Steps, next_temperature
from closedcup.methods.state import Ending, State

BOIL_OVERS_TO_STOP: Final = 2  # once may be a spill; twice is the sample (common practice)


def next_finite(
    state: State, judged: Sequence[Determination], series: Consistency
) -> Next | Ending:
    """Return the next temperature of the search as the method prescribes it, or the ending.

    `series` is the judgement of the valid determinations; a reversal is settled before the search
    goes on, and masking, a void series or a sample that boils over ends it.
    """
    standing = [one for one in judged if one.status != "withdrawn"]
    valid = [one for one in standing if one.status == "valid"]
    evidence = Evidence(
        flashed_at={one.set_cup_c: one.flashed for one in valid},
        burnt_on_at=frozenset(one.set_cup_c for one in valid if one.burnt_on),
    )
    masked = [one for one in standing if one.eye is Observation.SWOLLEN_FLAME]
    if masked:
        return masking(masked[0])
    if series.persists and series.reversal is not None:
        return _void_series(*series.reversal)
    if boil_overs(standing) >= BOIL_OVERS_TO_STOP:
        return _boils(evidence, standing)
    if series.repeat and series.reversal is not None:
        flash_c, no_flash_c = series.reversal
        return Next(
            series.repeat[0],
            "reversal",
            f"Flash at {flash_c:g} and no flash at {no_flash_c:g} °C do not hold together: "
            "repeat both with fresh specimens.",
        )
    found = next_temperature(
        evidence,
        _steps(state),
        start_c=state.start_cup_c,
        lowest_c=state.reach.lowest_cup_c,
        highest_c=state.reach.highest_cup_c,
    )
    if isinstance(found, Next):
        return replace(found, cup_c=settable(found.cup_c))
    return _found(state, found, valid)


def masking(seen: Determination) -> Ending:
    """Return the ending of a test in which the igniter flame swelled or changed colour."""
    return Ending(
        "stopped",
        f"Masking suspected at {seen.cup_c:g} °C: {seen.eye.why} Stopped for the reviewer; no "
        "flash point and no classification follow from it.",
    )


def _void_series(flash_c: float, no_flash_c: float) -> Ending:
    return Ending(
        "stopped",
        f"Flash at {flash_c:g} and no flash at {no_flash_c:g} °C stood again after both were "
        "repeated: the series is void. Look for contamination, a draught, a leaking seal, a wrong "
        "dwell or masking, and verify the apparatus before a new test.",
    )


def boil_overs(standing: Sequence[Determination]) -> int:
    """Count the specimens that boiled over."""
    return sum(one.eye is Observation.BOIL_OVER for one in standing)


def _boils(evidence: Evidence, standing: Sequence[Determination]) -> Ending:
    boiled_c = min(one.cup_c for one in standing if one.eye is Observation.BOIL_OVER)
    no_flash_c = evidence.highest_no_flash_c
    if no_flash_c is not None and evidence.lowest_flash_c is None:
        return Ending(
            "no flash up to",
            f"No flash up to {no_flash_c:g} °C (cup); the specimen boils over at {boiled_c:g} °C. "
            "That is not a flash point and not proof that the sample does not burn.",
            highest_no_flash_cup_c=no_flash_c,
        )
    return Ending(
        "stopped",
        f"The specimen boiled over twice, at {boiled_c:g} °C: stopped for the reviewer.",
    )


def _found(state: State, found: Found, valid: Sequence[Determination]) -> Ending:
    flashes = [one for one in valid if one.flashed]
    low = min(flashes, key=lambda one: one.set_cup_c, default=None)
    below = [
        one for one in valid if not one.flashed and (low is None or one.set_cup_c < low.set_cup_c)
    ]
    high = max(below, key=lambda one: one.set_cup_c, default=None)
    no_flash_c = None if high is None else high.cup_c
    if found.kind == "flash point" and low is not None:
        if low.burnt_on:
            return Ending(
                "stopped",
                f"Vapour burnt on at {low.cup_c:g} °C with no flash just below: that does not hold "
                "together; stopped for the reviewer.",
            )
        return Ending(
            "flash point",
            f"Lowest flash at {low.cup_c:g} °C, highest no flash at {no_flash_c:g} °C (cup).",
            observed_cup_c=low.cup_c,
            highest_no_flash_cup_c=no_flash_c,
            lowest_flash_cup_c=low.cup_c,
            confirmed=True,
        )
    if low is not None:
        return Ending(
            "flash at or below",
            f"Flash at {low.cup_c:g} °C (cup), the lowest temperature reachable: the flash point "
            "is at or below it.",
            lowest_flash_cup_c=low.cup_c,
        )
    return Ending(
        "no flash up to",
        f"No flash up to {no_flash_c:g} °C (cup), {state.reach.what_ends_it}. That is not "
        "proof that the sample does not burn.",
        highest_no_flash_cup_c=no_flash_c,
    )


def _steps(state: State) -> Steps:
    number = state.method.number
    wants_half = state.step_c < number("fine_step").value
    return Steps(
        coarse_c=number("coarse_step").value,
        fine_c=number("fine_step").value,
        half_c=number("half_step").value if wants_half else None,
        restart_drop_c=number("restart_drop").value,
    )
