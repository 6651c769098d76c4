"""Begin a test, add moves to it, ask what to do next and what came out.

A test is its terms and its moves; every answer is derived from them, so that a record read again
stands exactly where it stood.
"""

from collections.abc import Iterable
from dataclasses import replace
from types import ModuleType
from typing import Final

from closedcup.errors import InputError
from closedcup.methods import equilibrium, ramp
from closedcup.methods.aim import Aim, LimitAim
from closedcup.methods.at_limit import set_point_of
from closedcup.methods.barometer import pressure_warnings
from closedcup.methods.cautions import cautions_for
from closedcup.methods.cup import settable
from closedcup.methods.determination import Determination
from closedcup.methods.ending_early import ended_by
from closedcup.methods.moves import (
    DeviationNoted,
    IgniterApplied,
    Move,
    MoveWithdrawn,
    standing_moves,
    withdrawn_indices,
)
from closedcup.methods.permission import forbidden, permit_reachable
from closedcup.methods.published_method import Method, parse_product
from closedcup.methods.state import Action, Ending, Instruction, Outcome, State
from closedcup.methods.unfit import refuse_unguided

_EARLY: Final = "good record keeping: what is given up is closed, with the reason"


def _procedure(method: Method) -> ModuleType:
    """Return the module that runs a method.

    At a limit each specimen is tested at one temperature, whatever cup stands in the bath.
    """
    at_limit = method.test == "flash/no-flash"
    return equilibrium if at_limit or method.procedure == "equilibrium" else ramp


def begin(  # noqa: PLR0913 - the terms of a test, each by name
    method: Method,
    aim: Aim,
    *,
    pressure_kpa: float,
    probe_correction_c: float | None,
    start_cup_c: float | None = None,
    product: str | None = None,
    apparatus_low_cup_c: float | None = None,
    apparatus_high_cup_c: float | None = None,
    seeks_volatile: bool = False,
) -> State:
    """Begin a test on the terms given; no move has been made.

    start_cup_c: the first temperature of a finite search (on a ramp: of the first ramp), which
    the plan gives; a test at a limit takes its set point from the limit. pressure_kpa: the
    station's. apparatus_*: what the cup of this apparatus can show. seeks_volatile: a volatile
    contaminant is looked for. Raises InputError for an aim
    that the method does not have, Refused for a method that is not guided yet or a start outside
    scope or apparatus.
    """
    _check_terms(method, aim, start_cup_c)
    state = State(
        method=method,
        aim=aim,
        start_cup_c=0.0,
        pressure_kpa=pressure_kpa,
        probe_correction_c=probe_correction_c,
        product=method.default_product if product is None else parse_product(product),
        apparatus_low_cup_c=apparatus_low_cup_c,
        apparatus_high_cup_c=apparatus_high_cup_c,
        seeks_volatile=seeks_volatile,
    )
    if isinstance(aim, LimitAim):
        start = set_point_of(state).cup_settable_c
    else:
        assert start_cup_c is not None  # noqa: S101 - checked with the terms
        start = settable(start_cup_c)
    if _procedure(method) is ramp:
        ramp.permit_start(state, start)
    else:
        permit_reachable(state, start)
    return replace(state, start_cup_c=start)


def advance(state: State, move: Move) -> State:
    """Add a move; raise Refused ("forbidden-move") with the clause that forbids it.

    Raises InputError for a deviation without words.
    """
    if isinstance(move, MoveWithdrawn):
        _permit_withdrawal(state, move)
    elif isinstance(move, DeviationNoted):
        if not move.text.strip():
            raise InputError("deviation-empty", "A deviation needs words.", where="deviation")
    else:
        _procedure(state.method).permit(state, move)
    return replace(state, moves=(*state.moves, move))


def replay(state: State, moves: Iterable[Move]) -> State:
    """Add moves one after the other."""
    for move in moves:
        state = advance(state, move)
    return state


def instruction(state: State) -> Instruction:
    """Return what to do now, why, by which clause, and with which cautions."""
    procedure = _procedure(state.method)
    over: Ending | None = procedure.ending(state)
    if over is None:
        due: Instruction = procedure.instruction(state)
        return due
    early = ended_by(state.moves) is not None
    stopped = over.kind == "stopped" and not early
    action: Action = "stopped" if stopped else "done"
    made = determinations(state)
    last_cup_c = made[-1].cup_c if made else state.start_cup_c
    return Instruction(
        action=action,
        cup_c=last_cup_c,
        specimen=0,
        specimen_ml=0.0,
        dwell_s=None,
        why=over.text,
        clause=_EARLY if early else state.method.clause("masking" if stopped else "flash"),
        cautions=cautions_for(action, last_cup_c, state.method.procedure),
    )


def determinations(state: State) -> tuple[Determination, ...]:
    """Return every igniter application so far with what it counts as; void and withdrawn too."""
    found: tuple[Determination, ...] = _procedure(state.method).determinations(state)
    return found


def outcome(state: State) -> Outcome | None:
    """Return what came out of the test, None while it goes on."""
    procedure = _procedure(state.method)
    over: Ending | None = procedure.ending(state)
    if over is None:
        return None
    made = determinations(state)
    noted = tuple(
        move.text for _, move in standing_moves(state.moves) if isinstance(move, DeviationNoted)
    )
    remarks = tuple(
        f"Determination {one.number}: {remark}"
        for one in made
        if one.status != "withdrawn"
        for remark in one.remarks
    )
    return Outcome(
        kind=over.kind,
        text=over.text,
        observed_cup_c=over.observed_cup_c,
        highest_no_flash_cup_c=over.highest_no_flash_cup_c,
        lowest_flash_cup_c=over.lowest_flash_cup_c,
        step_c=procedure.resolution_c(state),
        rounding_step_c=state.method.rounding_step_c(state.step_c),
        confirmed=over.confirmed,
        meets_limit=over.meets_limit,
        determinations=made,
        deviations=(
            *procedure.deviations(state),
            *_early(state),
            *noted,
        ),
        warnings=(*over.warnings, *remarks, *pressure_warnings(state.pressure_kpa)),
    )


def _early(state: State) -> tuple[str, ...]:
    """Say that the method was not carried through, where that is so."""
    end = ended_by(state.moves)
    if end is None:
        return ()
    reason = end.reason.strip().rstrip(".")
    return (f"The series was ended before the method was carried through: {reason}.",)


def _check_terms(method: Method, aim: Aim, start_cup_c: float | None) -> None:
    refuse_unguided(method)
    at_limit = isinstance(aim, LimitAim)
    if at_limit != (method.test == "flash/no-flash"):
        wanted = "a flash or no flash at a limit" if at_limit else "a finite flash point"
        raise InputError(
            "aim-not-offered",
            f"{method.name} does not give {wanted}.",
            where="test requested",
            fix=f"Choose a method for {wanted}, for example "
            f"{'d3828-a' if at_limit else 'd3828-b'}.",
        )
    if not at_limit and start_cup_c is None:
        raise InputError(
            "start-missing",
            "A finite determination needs a starting temperature.",
            where="starting temperature",
            fix="Take it from the plan.",
        )


def _permit_withdrawal(state: State, move: MoveWithdrawn) -> None:
    """Allow withdrawing the last standing move, or any observation or noted deviation.

    A setting or a loading on which later moves rest stays; its observation can be withdrawn.
    """
    if not move.reason.strip():
        raise InputError(
            "reason-missing", "A move is withdrawn with a reason.", where="reason", fix="Say why."
        )
    standing = dict(standing_moves(state.moves))
    if move.index not in standing:
        known = (
            "has been withdrawn"
            if move.index in withdrawn_indices(state.moves)
            else ("is not a move that can be withdrawn")
        )
        raise InputError(
            "move-unknown",
            f"Move {move.index} {known}.",
            where="withdraw",
            fix=f"Standing moves: {', '.join(map(str, standing)) or 'none'}.",
        )
    acts = [index for index, one in standing.items() if not isinstance(one, DeviationNoted)]
    free = isinstance(standing[move.index], IgniterApplied | DeviationNoted)
    if not free and move.index != acts[-1]:
        raise forbidden(
            f"Later moves rest on move {move.index}.",
            "good record keeping",
            "Withdraw the observation made with it, or the later moves first.",
        )
