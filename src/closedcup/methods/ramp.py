"""The small-scale ramp procedure: one specimen heated at a fixed rate, the igniter applied often.

The result is what the cup shows when the flash is seen. A flash at the first application does not
count; burning that goes on stops the ramp; both ask for a fresh specimen and a lower start.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from closedcup.methods.aim import FiniteAim
from closedcup.methods.bench import Applied, Bench, Run, bench_after
from closedcup.methods.cautions import cautions_for
from closedcup.methods.cup import SAME_C, settable
from closedcup.methods.determination import Determination, Status, counted
from closedcup.methods.finite import BOIL_OVERS_TO_STOP, boil_overs, masking
from closedcup.methods.moves import CupSet, IgniterApplied, Move, RampStarted, SpecimenLoaded
from closedcup.methods.permission import forbidden, permit_fresh_specimen
from closedcup.methods.search import Next
from closedcup.methods.state import Action, Ending, Instruction, State


@dataclass(frozen=True, slots=True)
class _View:
    """Everything derived from a state once."""

    state: State
    bench: Bench
    determinations: tuple[Determination, ...]
    due: Next | Ending

    @property
    def open_run(self) -> Run | None:
        """The run that is going on: a specimen in the cup whose ramp has not ended."""
        run = self.bench.in_cup
        return run if run is not None and _last_word(self.state, run) is None else None


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
    return _view(state).determinations


def ending(state: State) -> Ending | None:
    """Return why the test is over, None while it is not."""
    due = _view(state).due
    return due if isinstance(due, Ending) else None


def resolution_c(state: State) -> float:
    """Return the interval at which the igniter met the vapour near the flash."""
    over = ending(state)
    at_c = state.start_cup_c if over is None or over.observed_cup_c is None else over.observed_cup_c
    return state.method.interval_c(at_c - SAME_C)


def permit(state: State, move: Move) -> None:
    """Raise Refused when the method forbids a move now."""
    view = _view(state)
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
    view = _view(state)
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
        found += _missed(state, run)
    return tuple(found)


# --- what the record says ------------------------------------------------------------------------


def _view(state: State) -> _View:
    bench = bench_after(state.moves)
    judged: list[Determination] = []
    for run in bench.runs:
        last = _last_word(state, run)
        for applied in run.applied:
            if applied.withdrawn or applied is last:
                judged.append(_judge(state, run, applied, len(judged) + 1))
    return _View(state, bench, tuple(judged), _next_ramp(state, bench.runs, judged))


def _last_word(state: State, run: Run) -> Applied | None:
    """Return the application that ended the ramp: not a no flash, or at the highest reach."""
    highest_c = state.reach.highest_cup_c - SAME_C
    for applied in run.standing:
        counts_as, _, _ = counted(state.method, state.product, applied.application)
        if counts_as != "no flash" or applied.application.cup_c >= highest_c:
            return applied
    return None


def _is_first(state: State, run: Run, applied: Applied) -> bool:
    """Say whether an application was the first of its ramp.

    Where the apparatus applies the igniter by itself only some applications are recorded; the
    first is then the one made before the first interval had passed.
    """
    if run.standing and run.standing[0] is not applied:
        return False
    if run.ramp is not None and run.ramp.automatic:
        first_until_c = run.ramp.cup_c + state.method.interval_c(run.ramp.cup_c)
        return applied.application.cup_c < first_until_c - SAME_C
    return True


def _judge(state: State, run: Run, applied: Applied, number: int) -> Determination:
    application = applied.application
    counts_as, deviating, remarks = counted(state.method, state.product, application)
    status: Status = "void" if counts_as in ("void", "stop") else "valid"
    if counts_as == "flash" and _is_first(state, run, applied):
        status = "void"
        remarks += ("Void: a flash at the first application does not count.",)
    return Determination(
        number=number,
        move_index=applied.move_index,
        specimen=run.loaded.specimen,
        volume_ml=run.loaded.volume_ml,
        set_cup_c=run.set_cup_c,
        cup_c=application.cup_c,
        dwell_s=None,
        eye=application.eye,
        detector=application.detector,
        counts_as=counts_as,
        status="withdrawn" if applied.withdrawn else status,
        deviations=() if applied.withdrawn else deviating,
        remarks=remarks,
    )


def _missed(state: State, run: Run) -> list[str]:
    """Return deviations of a hand-worked ramp in which an application was skipped."""
    if run.ramp is None or run.ramp.automatic:
        return []
    found: list[str] = []
    due_c = run.ramp.cup_c
    for applied in run.standing:
        shown_c = applied.application.cup_c
        if shown_c > due_c + state.method.interval_c(due_c) / 2:
            found.append(f"An application due at {due_c:g} °C was made at {shown_c:g} °C.")
        due_c = shown_c + state.method.interval_c(shown_c)
    return found


# --- where the test stands -----------------------------------------------------------------------


def _next_ramp(state: State, runs: Sequence[Run], judged: Sequence[Determination]) -> Next | Ending:
    standing = [one for one in judged if one.status != "withdrawn"]
    for one in standing:
        if one.counts_as == "stop" and not one.burnt_on:
            return masking(one)
        if one.status == "valid":
            return _found(state, one)
    if boil_overs(standing) >= BOIL_OVERS_TO_STOP:
        return _boils(runs)
    too_high = [one.cup_c for one in standing if one.flashed]
    if not too_high:
        return Next(state.start_cup_c, "start", _why_again(standing))
    lowest_seen_c, lowest_start_c = min(too_high), state.reach.lowest_start_cup_c
    if lowest_seen_c <= lowest_start_c + state.method.number("hold_tolerance").value:
        return Ending(
            "flash at or below",
            f"Vapour burnt at {lowest_seen_c:g} °C (cup), the lowest start possible: the flash "
            "point is at or below it.",
            lowest_flash_cup_c=lowest_seen_c,
        )
    drop_c = state.method.number("start_offset").value
    start_c = settable(max(lowest_seen_c - drop_c, lowest_start_c))
    return Next(
        start_c,
        "burning" if standing[-1].burnt_on else "first",
        f"{standing[-1].eye.capitalize()} at {lowest_seen_c:g} °C, too near the start: cool, "
        f"clean, fresh specimen from {start_c:g} °C.",
    )


def _why_again(standing: Sequence[Determination]) -> str:
    if not standing:
        return "First ramp, from the starting temperature."
    last = standing[-1]
    return f"{last.eye.capitalize()}: void. {last.eye.next_step} Start again."


def _found(state: State, last: Determination) -> Ending:
    if last.counts_as != "flash":
        return Ending(
            "no flash up to",
            f"No flash up to {last.cup_c:g} °C (cup), {state.reach.what_ends_it}. That is not "
            "proof that the sample does not burn.",
            highest_no_flash_cup_c=last.cup_c,
        )
    interval_c = state.method.interval_c(last.cup_c - SAME_C)
    warnings: tuple[str, ...] = ()
    low_c = state.reach.scope_low_cup_c
    if low_c is not None and last.cup_c < low_c - SAME_C:
        warnings = (
            (
                f"The flash lies below the scope of {state.method.designation}: indicative only; "
                "determine it with an equilibrium method."
            ),
        )
    return Ending(
        "flash point",
        f"Flash at {last.cup_c:g} °C (cup) on the ramp.",
        observed_cup_c=last.cup_c,
        highest_no_flash_cup_c=last.cup_c - interval_c,
        lowest_flash_cup_c=last.cup_c,
        confirmed=True,
        warnings=warnings,
    )


def _boils(runs: Sequence[Run]) -> Ending:
    no_flash_c = max(
        (
            one.application.cup_c
            for run in runs
            for one in run.standing
            if one.application.eye.counts_as == "no flash"
        ),
        default=None,
    )
    if no_flash_c is None:
        return Ending("stopped", "The specimen boiled over twice: stopped for the reviewer.")
    return Ending(
        "no flash up to",
        f"No flash up to {no_flash_c:g} °C (cup), then the specimen boils over. That is not a "
        "flash point and not proof that the sample does not burn.",
        highest_no_flash_cup_c=no_flash_c,
    )


def _next_dip_c(view: _View, run: Run) -> float:
    if not run.standing:
        return run.set_cup_c
    last_c = run.standing[-1].application.cup_c
    due_c = last_c + view.state.method.interval_c(last_c)
    return settable(min(due_c, view.state.reach.highest_cup_c))


# --- what the method allows now ------------------------------------------------------------------


def _may_load(view: _View, due: Next) -> bool:
    set_cup_c = view.bench.set_cup_c
    tolerance_c = view.state.method.number("hold_tolerance").value
    return (
        set_cup_c is not None
        and set_cup_c <= due.cup_c + tolerance_c + SAME_C
        and set_cup_c >= view.state.reach.lowest_start_cup_c - SAME_C
    )


def _permit_setting(view: _View, due: Next, move: CupSet) -> None:
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


def _permit_loading(view: _View, due: Next, move: SpecimenLoaded) -> None:
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


def _permit_ramp(view: _View, move: RampStarted) -> None:
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


def _permit_application(view: _View, move: IgniterApplied) -> None:
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
