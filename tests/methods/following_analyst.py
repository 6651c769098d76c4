"""An analyst who does what the instruction says, over a liquid with a known flash point."""

from collections.abc import Callable

from closedcup.methods import (
    CupRecovered,
    CupSet,
    IgniterApplied,
    Instruction,
    Move,
    Observation,
    RampStarted,
    SpecimenLoaded,
    State,
    advance,
    instruction,
    outcome,
)

Liquid = Callable[[float], Observation]  # what is seen at a cup temperature


def flashes_from(threshold_cup_c: float, *, burns_on_from: float = 1e9) -> Liquid:
    """Return a liquid that flashes from a cup temperature on, and burns on from another."""

    def seen(cup_c: float) -> Observation:
        if cup_c >= burns_on_from:
            return Observation.CONTINUOUS_BURNING
        return Observation.FLASH if cup_c >= threshold_cup_c else Observation.NO_FLASH

    return seen


def move_for(due: Instruction, liquid: Liquid, *, automatic: bool = False) -> Move:
    match due.action:
        case "set cup":
            return CupSet(due.cup_c)
        case "load specimen":
            return SpecimenLoaded(due.specimen, due.specimen_ml, due.cup_c)
        case "await recovery":
            return CupRecovered(due.cup_c)
        case "start ramp":
            return RampStarted(due.cup_c, automatic)
        case _:
            eye = liquid(due.cup_c)
            return IgniterApplied(
                due.cup_c, eye, detector=eye.counts_as == "flash", dwell_s=due.dwell_s
            )


def follow(state: State, liquid: Liquid, *, at_most: int = 2000) -> State:
    """Do what the instruction says until the test is over; fail when it does not end."""
    for _ in range(at_most):
        if outcome(state) is not None:
            return state
        state = advance(
            state, move_for(instruction(state), liquid, automatic=state.method.automatic_only)
        )
    raise AssertionError("the test does not end")
