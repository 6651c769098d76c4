"""The small-scale ramp procedure: one specimen heated at a fixed rate, the igniter applied often.

The result is what the cup shows when the flash is seen. A flash at the first application does not
count; burning that goes on stops the ramp; both ask for a fresh specimen and a lower start.
"""

from closedcup.methods.aim import FiniteAim
from closedcup.methods.bench import Run, bench_after
from closedcup.methods.cautions import cautions_for
from closedcup.methods.cup import SAME_C, settable
from closedcup.methods.determination import Determination
from closedcup.methods.moves import CupSet, IgniterApplied, Move, RampStarted, SpecimenLoaded
from closedcup.methods.permission import forbidden, permit_fresh_specimen
from closedcup.methods.ramp_standing import RampView, missed_applications, ramp_view
from closedcup.methods.search import Next
from closedcup.methods.state import Action, Ending, Instruction, State


def permit_start(state: State, start_cup_c: float) -> None:
    """Refuse a start outside what method and apparatus allow."""
    reach = state.reach
    if not reach.allows_start(start_cup_c):
        raise forbidden(
            f"A ramp cannot start at {start_cup_c:g} °C (cup): {reach.lowest_start_cup_c:.1f} to "
            f"{reach.highest_cup_c:.1f} °C is possible here.",
            state.method.clause("scope"),
            "Choose another start, method or apparatus.",
        )


def determinations(state: State) -> tuple[Determination, ...]:
    """Return one determination for each ramp that ended, and each withdrawn observation."""
    return ramp_view(state).determinations


def ending(state: State) -> Ending | None:
    """Return why the test is over, None while it is not."""
    due = ramp_view(state).due
    return due if isinstance(due, Ending) else None


def resolution_c(state: State) -> float:
    """Return the interval at which the igniter met the vapour near the flash."""
    over = ending(state)
    at_c = state.start_cup_c if over is None or over.observed_cup_c is None else over.observed_cup_c
    return state.method.interval_c(at_c - SAME_C)


def permit(state: State, move: Move) -> None:
    """Raise Refused when the method forbids a move now."""
    view = ramp_view(state)
    if isinstance(view.due, Ending):
        raise forbidden(
            "The test is over.", state.method.designation, "Withdraw a move, or begin a new test."
        )
    match move:
        case CupSet():
            _permit_setting(view, view.due, move)
        case SpecimenLoaded():
            _permit_loading(view, view.due, move)
        case RampStarted():
            _permit_ramp(view, move)
        case IgniterApplied():
            _permit_application(view, move)
        case _:
            pass


def instruction(state: State) -> Instruction:
    """Return what to do now; the test is not over."""
    view = ramp_view(state)
    due, run, method = view.due, view.open_run, state.method
    assert isinstance(due, Next)  # noqa: S101 - the caller asked `ending` first
    action: Action
    cup_c = due.cup_c
    if run is not None and run.ramp is not None:
        action, clause, cup_c = "wait and apply", method.clause("interval"), _next_dip_c(view, run)
        why = f"Next application at {cup_c:g} °C; watch for a flash over the whole surface."
        if len(run.standing) < 2:
            why += " First two applications: watch for burning that goes on."
    elif run is not None:
        action, clause, cup_c = "start ramp", method.clause("ramp"), run.set_cup_c
        rate, off = method.number("ramp_rate").value, method.number("ramp_rate_tolerance").value
        why = f"Start heating at {rate:g} ± {off:g} °C/min."
    elif _may_load(view, due):
        action, clause = "load specimen", method.clause("loading")
        why = f"Load only while the cup shows {cup_c:g} °C or less. {due.why}"
    else:
        action, clause, why = "set cup", method.clause(due.stage), due.why
    rule = method.specimen_rule(state.product, cup_c)
    first = not any(one.standing for one in view.bench.runs)
    return Instruction(
        action=action,
        cup_c=cup_c,
        specimen=run.loaded.specimen if run else max(view.bench.used, default=0) + 1,
        specimen_ml=rule.volume.value,
        dwell_s=None,
        why=why,
        clause=clause,
        cautions=cautions_for(action, cup_c, "ramp", first_application=first),
    )


def deviations(state: State) -> tuple[str, ...]:
    """Return what the record shows was not done as the method says."""
    found = [text for one in determinations(state) for text in one.deviations]
    if isinstance(state.aim, FiniteAim) and state.aim.expected_corrected_c is not None:
        offset = state.method.number("start_offset").value
        tolerance = state.method.number("start_tolerance").value
        below_c = state.cup(state.aim.expected_corrected_c) - state.start_cup_c
        if abs(below_c - offset) > tolerance + state.method.number("hold_tolerance").value:
            found.append(
                f"The first ramp started {below_c:.1f} °C below the expected flash point; the "
                f"method asks {offset:g} ± {tolerance:g} °C."
            )
    for run in bench_after(state.moves).runs:
        found += missed_applications(state, run)
    return tuple(found)


# --- what the method allows now ------------------------------------------------------------------


def _next_dip_c(view: RampView, run: Run) -> float:
    if not run.standing:
        return run.set_cup_c
    last_c = run.standing[-1].application.cup_c
    due_c = last_c + view.state.method.interval_c(last_c)
    return settable(min(due_c, view.state.reach.highest_cup_c))


def _may_load(view: RampView, due: Next) -> bool:
    set_cup_c = view.bench.set_cup_c
    tolerance_c = view.state.method.number("hold_tolerance").value
    return (
        set_cup_c is not None
        and set_cup_c <= due.cup_c + tolerance_c + SAME_C
        and set_cup_c >= view.state.reach.lowest_start_cup_c - SAME_C
    )


def _permit_setting(view: RampView, due: Next, move: CupSet) -> None:
    method = view.state.method
    if view.open_run is not None:
        raise forbidden(
            "A specimen is in the cup.",
            method.clause("specimen"),
            "Finish the ramp, or record “specimen lost”.",
        )
    tolerance_c = method.number("hold_tolerance").value
    if move.cup_c > due.cup_c + tolerance_c + SAME_C:
        raise forbidden(
            f"{move.cup_c:g} °C is above the start due, {due.cup_c:g} °C.",
            method.clause(due.stage),
            f"Set the cup to {due.cup_c:g} °C or lower.",
        )
    permit_start(view.state, move.cup_c)


def _permit_loading(view: RampView, due: Next, move: SpecimenLoaded) -> None:
    method, set_cup_c = view.state.method, view.bench.set_cup_c
    if view.open_run is not None:
        raise forbidden(
            "A specimen is in the cup already.",
            method.clause("specimen"),
            "Finish the ramp, or record “specimen lost”.",
        )
    if set_cup_c is None or not _may_load(view, due):
        raise forbidden(
            f"The cup is not set to the start due, {due.cup_c:g} °C.",
            method.clause("loading"),
            f"Set the cup to {due.cup_c:g} °C first.",
        )
    permit_fresh_specimen(view.state, view.bench, move, set_cup_c)


def _permit_ramp(view: RampView, move: RampStarted) -> None:
    method, run = view.state.method, view.open_run
    if run is None or run.ramp is not None:
        raise forbidden(
            "The ramp is running already." if run else "No fresh specimen is in the cup.",
            method.clause("ramp"),
            "Load a fresh specimen first." if run is None else "Go on with it.",
        )
    if move.cup_c > run.set_cup_c + method.number("hold_tolerance").value + SAME_C:
        raise forbidden(
            f"The cup shows {move.cup_c:g} °C and is set to start at {run.set_cup_c:g} °C.",
            method.clause("start"),
            "Let it cool to the start, or record “specimen lost”.",
        )


def _permit_application(view: RampView, move: IgniterApplied) -> None:
    state, run = view.state, view.open_run
    if run is None or run.ramp is None:
        raise forbidden(
            "No ramp is running.",
            state.method.clause("ramp"),
            "Load a fresh specimen and start the ramp.",
        )
    if not run.standing or move.eye.counts_as == "void":
        return
    last_c = run.standing[-1].application.cup_c
    due_c = last_c + state.method.interval_c(last_c)
    half_interval_c = state.method.interval_c(last_c) / 2
    if move.cup_c < min(due_c, state.reach.highest_cup_c) - half_interval_c - SAME_C:
        raise forbidden(
            f"The igniter is next due at {due_c:g} °C; the cup shows {move.cup_c:g} °C.",
            state.method.clause("interval"),
            "Wait for the interval.",
        )
