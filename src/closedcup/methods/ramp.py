"""The heated procedures: one specimen warmed at a rate, the igniter applied at intervals.

Small-scale ramp; large cup on a ramp, stirred or not; bath; continuously closed cup. They differ
in their terms (`ramp_terms`) and words (`ramp_words`). The result is what the cup shows at the
flash. A flash at the first application does not count; burning that goes on stops the run; both
ask for a fresh specimen and a lower start. A flash outside a stated window is approximate and
corrects what is expected.
"""

from closedcup.methods.bench import Run
from closedcup.methods.cautions import cautions_for
from closedcup.methods.cup import SAME_C, settable
from closedcup.methods.determination import Determination
from closedcup.methods.ending_early import permit_ending
from closedcup.methods.moves import (
    CupRecovered,
    CupSet,
    IgniterApplied,
    Move,
    RampStarted,
    RateChecked,
    SeriesEnded,
    SpecimenLoaded,
)
from closedcup.methods.permission import forbidden, forbidden_when_over, permit_fresh_specimen
from closedcup.methods.ramp_deviations import run_deviations, start_deviations
from closedcup.methods.ramp_standing import RampView, ramp_view
from closedcup.methods.ramp_words import applying_words, heating_words, loading_words
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
    view, over = ramp_view(state), ending(state)
    its = view.terms[-1] if view.terms else view.terms_at(state.start_cup_c)
    at_c = state.start_cup_c if over is None or over.observed_cup_c is None else over.observed_cup_c
    return its.interval_c(at_c - SAME_C)


def permit(state: State, move: Move) -> None:
    """Raise Refused when the method forbids a move now."""
    view = ramp_view(state)
    if isinstance(view.due, Ending):
        raise forbidden_when_over(state)
    match move:
        case CupSet():
            _permit_setting(view, view.due, move)
        case SpecimenLoaded():
            _permit_loading(view, view.due, move)
        case RampStarted():
            _permit_ramp(view, move)
        case RateChecked():
            _running(view)
        case CupRecovered():
            raise forbidden(
                "No dwell is counted on a ramp.",
                state.method.clause("ramp"),
                "Start heating when the cup shows its start or less.",
            )
        case IgniterApplied():
            _permit_application(view, move)
        case SeriesEnded():
            permit_ending(state, move, specimen_in_cup=view.open_run is not None)
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
        action, clause = "wait and apply", method.clause("interval")
        cup_c = _next_dip_c(view, run)
        why = applying_words(state, view.open_terms, run, cup_c)
    elif run is not None:
        action, clause, cup_c = "start ramp", method.clause("ramp"), run.set_cup_c
        why = heating_words(state, view.open_terms)
    elif _may_load(view, due):
        set_cup_c = due.cup_c if view.bench.set_cup_c is None else view.bench.set_cup_c
        cup_c = _load_at_c(view, set_cup_c)
        action, clause = "load specimen", method.clause("loading")
        why = f"{loading_words(state, view.terms_at(set_cup_c), cup_c)} {due.why}"
    else:
        action, clause, why = "set cup", method.clause(due.stage), f"{_clean(view)}{due.why}"
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
        cautions=cautions_for(action, cup_c, method.procedure, first_application=first),
    )


def _clean(view: RampView) -> str:
    """Say what the bench asks after a run that flashed, before the cup is set again."""
    standing = [one for one in view.determinations if one.status != "withdrawn"]
    if not standing or standing[-1].counts_as != "flash" or not view.bench.last_in_cup:
        return ""
    return f"{standing[-1].eye.next_step} "


def deviations(state: State) -> tuple[str, ...]:
    """Return what the record shows was not done as the method says."""
    view = ramp_view(state)
    found = [text for one in view.determinations for text in one.deviations]
    found += start_deviations(state)
    for run, its in zip(view.bench.runs, view.terms, strict=True):
        found += run_deviations(run, its)
    return tuple(found)


# --- what the method allows now ------------------------------------------------------------------


def _next_dip_c(view: RampView, run: Run) -> float:
    return settable(min(view.open_terms.next_cup_c(run), view.state.reach.highest_cup_c))


def _load_at_c(view: RampView, set_cup_c: float) -> float:
    """Return the highest temperature for loading; not colder than the apparatus can be."""
    lowest_c = view.state.apparatus_low_cup_c
    asked_c = view.terms_at(set_cup_c).load_cup_c
    return asked_c if lowest_c is None else min(set_cup_c, max(asked_c, settable(lowest_c)))


def _may_load(view: RampView, due: Next) -> bool:
    """Say whether the cup is set for the run due: there, or lower where the analyst chose so.

    The setting of the last run does not stand for the next one when a higher start is due.
    """
    set_cup_c = view.bench.set_cup_c
    if set_cup_c is None:
        return False
    tolerance_c = view.state.method.number("hold_tolerance").value + SAME_C
    if view.bench.last_in_cup and set_cup_c < due.cup_c - tolerance_c:
        return False
    lowest_c = view.state.reach.lowest_start_cup_c - SAME_C
    return lowest_c <= set_cup_c <= due.cup_c + tolerance_c


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
    permit_fresh_specimen(view.state, view.bench, move, set_cup_c, _load_at_c(view, set_cup_c))


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
    if method.automatic_only and not move.automatic:
        raise forbidden(
            f"{method.name} is run by an automatic apparatus only.",
            method.clause("scope"),
            "Let the apparatus apply the igniter, or choose another method.",
        )


def _running(view: RampView) -> Run:
    """Return the run whose ramp is running; refuse where there is none."""
    run = view.open_run
    if run is None or run.ramp is None:
        raise forbidden(
            "No ramp is running.",
            view.state.method.clause("ramp"),
            "Load a fresh specimen and start the ramp.",
        )
    return run


def _permit_application(view: RampView, move: IgniterApplied) -> None:
    if move.eye.counts_as == "void" and view.open_run is not None:
        return  # it happened, before heating or on the way
    state, run, its = view.state, _running(view), view.open_terms
    highest_c, due_c = state.reach.highest_cup_c, its.next_cup_c(run)
    half_interval_c = its.interval_c(min(due_c, highest_c)) / 2
    if move.cup_c < min(due_c, highest_c) - half_interval_c - SAME_C:
        raise forbidden(
            f"The igniter is next due at {due_c:g} °C; the cup shows {move.cup_c:g} °C.",
            state.method.clause("interval"),
            "Wait for the interval.",
        )
