"""What each application of an equilibrium test counts as: what was seen, and its dwell."""

import math
from collections.abc import Sequence

from closedcup.methods.bench import Applied, Run
from closedcup.methods.cup import SAME_C
from closedcup.methods.determination import Determination, Status, counted, determination
from closedcup.methods.moves import IgniterApplied
from closedcup.methods.observation import Observation
from closedcup.methods.state import State


def judge_all(state: State, runs: Sequence[Run]) -> tuple[Determination, ...]:
    """Return every application of a test, in order; void and withdrawn ones too."""
    judged: list[Determination] = []
    for run in runs:
        for applied in run.applied:
            judged.append(_judge(state, run, applied, len(judged) + 1))
    return tuple(judged)


def _judge(state: State, run: Run, applied: Applied, number: int) -> Determination:
    application = applied.application
    counts_as, deviating, remarks = counted(state.method, state.product, application)
    status: Status = "void" if counts_as == "void" else "valid"
    if application.eye is Observation.SWOLLEN_FLAME:
        status = "void"
    dwell_deviations, too_short = _dwell(state, run, application)
    deviating += dwell_deviations
    if too_short and status == "valid":
        status, remarks = "void", (*remarks, "Void: the igniter was applied too early.")
    return determination(
        number,
        run,
        applied,
        counts_as=counts_as,
        status=status,
        deviations=deviating,
        remarks=remarks,
        dwell_s=application.dwell_s,
    )


def _dwell(state: State, run: Run, application: IgniterApplied) -> tuple[tuple[str, ...], bool]:
    """Return deviations of the dwell and whether it was too short to count.

    What was seen is never refused for its dwell: it happened, the specimen is spent. Too short a
    dwell makes it void; too long or unrecorded stays with the result as a deviation. The time is
    usually that of the record, made after watching and closing the shutter: that lag is allowed.
    Where the method states no tolerance the dwell is a least one.
    """
    rule = state.method.specimen_rule(state.product, run.set_cup_c)
    if rule.dwell is None:
        return (), False
    asked_s, given_s = rule.dwell.value, application.dwell_s
    tolerance_s, longest_s = _tolerances_s(state)
    where = f"specimen {run.loaded.specimen} at {run.set_cup_c:g} °C"
    if given_s is None:
        return (f"The dwell of {where} was not recorded ({asked_s:g} s asked).",), False
    texts: tuple[str, ...] = ()
    if needs_recovery(state, run) and run.recovered is None:
        texts = (f"The dwell of {where} was not counted from the cup's recovery.",)
    if asked_s - tolerance_s <= given_s <= asked_s + longest_s:
        return texts, False
    text = f"The dwell of {where} was {given_s:g} s instead of {asked_s:g} s."
    return (*texts, text), given_s < asked_s


def _tolerances_s(state: State) -> tuple[float, float]:
    """Return how much shorter and longer a dwell may be; a least dwell has no longest one."""
    tolerance = state.method.numbers.get("dwell_tolerance")
    if tolerance is None:
        return 0.0, math.inf
    lag_s = state.method.number("recording_allowance").value
    return tolerance.value, tolerance.value + lag_s


def needs_recovery(state: State, run: Run) -> bool:
    """Say whether the dwell counts from the cup's recovery: where it is set below the room."""
    below = state.method.numbers.get("recovery_below")
    return below is not None and run.set_cup_c < below.value - SAME_C
