"""The small-scale equilibrium procedure: one temperature, one fresh specimen, one application.

Finite: fresh specimens 5 °C, then 1 °C, then optionally 0.5 °C apart. At a limit: one set point,
and a second fresh specimen after a no flash.
"""

from dataclasses import dataclass, replace

from closedcup.methods.aim import FiniteAim, LimitAim
from closedcup.methods.at_limit import next_at_limit, set_point_of
from closedcup.methods.bench import Bench, Run, bench_after
from closedcup.methods.cautions import cautions_for
from closedcup.methods.consistency import Consistency, consistency
from closedcup.methods.cup import CUP_RESOLUTION_C, SAME_C
from closedcup.methods.determination import Determination
from closedcup.methods.ending_early import (
    early_ending,
    early_ending_at_limit,
    ended_by,
    permit_ending,
)
from closedcup.methods.finite import next_finite
from closedcup.methods.judging import judge_all, needs_recovery
from closedcup.methods.moves import (
    CupRecovered,
    CupSet,
    IgniterApplied,
    Move,
    RampStarted,
    RateChecked,
    SeriesEnded,
    SpecimenLoaded,
    standing_moves,
)
from closedcup.methods.permission import (
    forbidden,
    forbidden_when_over,
    permit_fresh_specimen,
    permit_reachable,
)
from closedcup.methods.search import Next
from closedcup.methods.state import Action, Ending, Instruction, State


@dataclass(frozen=True, slots=True)
class _View:
    """Everything derived from a state once."""

    state: State
    bench: Bench
    determinations: tuple[Determination, ...]
    consistency: Consistency
    due: Next | Ending

    def has_spoken_at(self, cup_c: float) -> bool:
        """Say whether a determination at this setting counts already."""
        return any(
            one.status == "valid" and abs(one.set_cup_c - cup_c) < SAME_C
            for one in self.determinations
        )


def determinations(state: State) -> tuple[Determination, ...]:
    """Return every application with what it counts as; withdrawn and void ones too."""
    return _view(state).determinations


def ending(state: State) -> Ending | None:
    """Return why the test is over, None while it is not."""
    due = _view(state).due
    return due if isinstance(due, Ending) else None


def permit(state: State, move: Move) -> None:
    """Raise Refused when the method forbids a move now."""
    view = _view(state)
    if isinstance(view.due, Ending):
        raise forbidden_when_over(state)
    match move:
        case CupSet():
            _permit_setting(view, view.due, move.cup_c)
        case SpecimenLoaded():
            _permit_loading(view, view.due, move)
        case CupRecovered():
            _permit_recovery(view, move)
        case IgniterApplied():
            _permit_application(view, move)
        case RampStarted() | RateChecked():
            raise forbidden(
                "An equilibrium test has no ramp.",
                state.method.clause("dwell"),
                "Hold the cup at its temperature and wait.",
            )
        case SeriesEnded():
            permit_ending(state, move, specimen_in_cup=_waiting(view.bench) is not None)
        case _:
            pass


def instruction(state: State) -> Instruction:
    """Return what to do now; the test is not over."""
    view = _view(state)
    due = view.due
    assert isinstance(due, Next)  # noqa: S101 - the caller asked `ending` first
    run, cup_c = _waiting(view.bench), due.cup_c
    if run is not None:
        cup_c = run.set_cup_c
    elif _may_load(view, due) and view.bench.set_cup_c is not None:
        cup_c = view.bench.set_cup_c
    rule = state.method.specimen_rule(state.product, cup_c)
    dwell_s = None if rule.dwell is None else rule.dwell.value
    action, clause, why = _what_to_do(view, due, cup_c, dwell_s)
    return Instruction(
        action=action,
        cup_c=cup_c,
        specimen=run.loaded.specimen if run else max(view.bench.used, default=0) + 1,
        specimen_ml=rule.volume.value,
        dwell_s=dwell_s,
        why=why,
        clause=clause,
        cautions=cautions_for(
            action, cup_c, "equilibrium", first_application=not view.determinations
        ),
    )


def _what_to_do(
    view: _View, due: Next, cup_c: float, dwell_s: float | None
) -> tuple[Action, str, str]:
    """Return the action, its clause and the reason in words."""
    clause = view.state.method.clause
    run = _waiting(view.bench)
    if run is not None and run.recovered is None and needs_recovery(view.state, run):
        why = (
            f"The specimen has warmed the cup: wait until it shows {cup_c:g} °C again. The dwell "
            "counts from then. Keep frost and water off the lid and the port."
        )
        return "await recovery", clause("dwell"), why
    if run is not None:
        return (
            "wait and apply",
            clause("dwell"),
            f"{_wait(view, dwell_s)} {cup_c:g} °C, apply the igniter once.",
        )
    if _may_load(view, due):
        why = f"{_aftermath(view)}Load only while the cup shows {cup_c:g} °C or less. {due.why}"
        return "load specimen", clause("loading"), why
    return "set cup", clause(due.stage), f"{_aftermath(view)}{due.why}"


def _wait(view: _View, dwell_s: float | None) -> str:
    if dwell_s is None:
        return "Hold as long as your copy says at"
    least = "" if "dwell_tolerance" in view.state.method.numbers else "at least "
    return f"Wait {least}{dwell_s:g} s at"


def resolution_c(state: State) -> float:
    """Return the step to which the answer is known."""
    return state.step_c


def deviations(state: State) -> tuple[str, ...]:
    """Return what the record shows was not done as the method says."""
    found = [text for one in determinations(state) for text in one.deviations]
    for index, move in standing_moves(state.moves):
        if isinstance(move, CupSet) and isinstance(state.aim, FiniteAim):
            due = _view(replace(state, moves=state.moves[:index])).due
            if isinstance(due, Next) and move.cup_c < due.cup_c - _tolerance_c(state):
                found.append(
                    f"The cup was set to {move.cup_c:g} °C; the method's next temperature was "
                    f"{due.cup_c:g} °C."
                )
    return tuple(found)


# --- what the method allows now ------------------------------------------------------------------


def _waiting(bench: Bench) -> Run | None:
    """Return the run whose specimen is in the cup and has not met the igniter."""
    run = bench.in_cup
    return run if run is not None and not run.standing else None


def _tolerance_c(state: State) -> float:
    return state.method.number("hold_tolerance").value


def _fits(view: _View, due: Next, cup_c: float) -> bool:
    """Say whether a setting answers what is due: that temperature, or one below it not yet tested.

    Lower than due is always safe and is kept as a deviation; a limit has one set point only.
    """
    near = abs(cup_c - due.cup_c) <= _tolerance_c(view.state) + SAME_C
    if isinstance(view.state.aim, LimitAim):
        return abs(cup_c - due.cup_c) <= CUP_RESOLUTION_C / 2 + SAME_C
    if due.stage == "reversal" or near:
        return near and (due.stage == "reversal" or not view.has_spoken_at(cup_c))
    return cup_c < due.cup_c and not view.has_spoken_at(cup_c)


def _may_load(view: _View, due: Next) -> bool:
    cup_c = view.bench.set_cup_c
    return cup_c is not None and _fits(view, due, cup_c)


def _permit_setting(view: _View, due: Next, cup_c: float) -> None:
    state = view.state
    if _waiting(view.bench) is not None:
        raise forbidden(
            "A specimen is in the cup, waiting for the igniter.",
            state.method.clause("dwell"),
            "Apply the igniter, or record “specimen lost”.",
        )
    permit_reachable(state, cup_c)
    if _fits(view, due, cup_c):
        return
    if view.has_spoken_at(cup_c):
        raise forbidden(
            f"{cup_c:g} °C has been tested; a repeat is asked only when the series does not hold "
            "together.",
            state.method.clause("once"),
            f"Set the cup to {due.cup_c:g} °C.",
        )
    raise forbidden(
        f"{cup_c:g} °C is not the temperature due, {due.cup_c:g} °C.",
        state.method.clause(due.stage),
        f"Set the cup to {due.cup_c:g} °C.",
    )


def _permit_loading(view: _View, due: Next, move: SpecimenLoaded) -> None:
    state, set_cup_c = view.state, view.bench.set_cup_c
    if set_cup_c is None or not _fits(view, due, set_cup_c):
        raise forbidden(
            f"The cup is not set to the temperature due, {due.cup_c:g} °C.",
            state.method.clause("loading"),
            f"Set the cup to {due.cup_c:g} °C first.",
        )
    if _waiting(view.bench) is not None:
        raise forbidden(
            "A specimen is in the cup already.",
            state.method.clause("once"),
            "Apply the igniter, or record “specimen lost”.",
        )
    permit_fresh_specimen(state, view.bench, move, set_cup_c)


def _permit_recovery(view: _View, move: CupRecovered) -> None:
    state, run = view.state, _waiting(view.bench)
    if run is None or run.recovered is not None or not needs_recovery(state, run):
        raise forbidden(
            "No cup's recovery is awaited.",
            state.method.clause("dwell"),
            "Load a fresh specimen first." if run is None else "The dwell is counting: go on.",
        )
    if abs(move.cup_c - run.set_cup_c) > _tolerance_c(state) + SAME_C:
        raise forbidden(
            f"The cup shows {move.cup_c:g} °C and is set to {run.set_cup_c:g} °C.",
            state.method.clause("dwell"),
            "Wait until it shows its temperature again.",
        )


def _permit_application(view: _View, move: IgniterApplied) -> None:
    state, run = view.state, _waiting(view.bench)
    if run is None:
        raise forbidden(
            "No fresh specimen is in the cup; a specimen meets the igniter once.",
            state.method.clause("once"),
            "Clean the cup and load a fresh specimen.",
        )
    if move.eye.counts_as in ("void", "stop"):
        return  # it happened, at whatever the cup showed
    if abs(move.cup_c - run.set_cup_c) > _tolerance_c(state) + SAME_C:
        raise forbidden(
            f"The cup shows {move.cup_c:g} °C and is set to {run.set_cup_c:g} °C.",
            state.method.clause("dwell"),
            "Wait until it is steady at its temperature. If the igniter has been applied, record "
            "“specimen lost” and note the deviation.",
        )


def _aftermath(view: _View) -> str:
    """Return what the last observation asks for at the bench, until the cup is set anew."""
    standing = [one for one in view.determinations if one.status != "withdrawn"]
    if not standing or view.bench.in_cup is None:
        return ""
    last = standing[-1]
    void = f"{last.eye.capitalize()}: void. " if last.counts_as == "void" else ""
    return f"{void}{last.eye.next_step} "


# --- what the record says ------------------------------------------------------------------------


def _view(state: State) -> _View:
    bench = bench_after(state.moves)
    judged = judge_all(state, bench.runs)
    valid = [one for one in judged if one.status == "valid"]
    if isinstance(state.aim, LimitAim):
        agreed = Consistency({}, (), None, persists=False)
        return _ended_early(_View(state, bench, judged, agreed, next_at_limit(state, judged)))
    found = consistency(
        [(one.set_cup_c, one.flashed) for one in valid],
        state.method.number("reversal").value,
    )
    counting = set(found.counts.values())
    passed = {one.number for place, one in enumerate(valid) if place not in counting}
    judged = tuple(
        replace(one, status="superseded") if one.number in passed else one for one in judged
    )
    return _ended_early(_View(state, bench, judged, found, next_finite(state, judged, found)))


def _ended_early(view: _View) -> _View:
    """Put what is known in the place of what is due, where the test was ended early."""
    end = ended_by(view.state.moves)
    if end is None or isinstance(view.due, Ending):
        return view
    if isinstance(view.state.aim, LimitAim):
        point = set_point_of(view.state)
        return replace(view, due=early_ending_at_limit(point, view.determinations, end))
    no_flash = [
        one.cup_c for one in view.determinations if one.status == "valid" and not one.flashed
    ]
    return replace(view, due=early_ending(view.state, view.determinations, end, no_flash))
