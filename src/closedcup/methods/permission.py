"""What every procedure refuses: the wrong temperature, a used specimen, a cup that is too hot."""

from closedcup.errors import Refused
from closedcup.methods.bench import Bench
from closedcup.methods.cup import SAME_C
from closedcup.methods.moves import SpecimenLoaded
from closedcup.methods.state import State


def forbidden(what: str, clause: str, fix: str) -> Refused:
    """Return the refusal of a move, with the clause that forbids it and what to do."""
    return Refused("forbidden-move", what, where=clause, fix=fix)


def forbidden_when_over(state: State) -> Refused:
    """Return the refusal of every move after the end of a test."""
    return forbidden(
        "The test is over.", state.method.designation, "Withdraw a move, or begin a new test."
    )


def permit_reachable(state: State, cup_c: float) -> None:
    """Refuse a cup temperature outside the method's scope or the apparatus's range."""
    reach = state.reach
    if not reach.allows(cup_c):
        raise forbidden(
            f"{cup_c:g} °C (cup) is outside {reach.lowest_cup_c:.1f} to "
            f"{reach.highest_cup_c:.1f} °C, which method and apparatus allow here.",
            state.method.clause("scope"),
            "Stay inside, or choose another method or apparatus.",
        )


def permit_fresh_specimen(
    state: State,
    bench: Bench,
    move: SpecimenLoaded,
    set_cup_c: float,
    highest_cup_c: float | None = None,
) -> None:
    """Refuse loading above the set (or a lower) temperature, a used specimen, a wrong volume."""
    method = state.method
    load_at_c = set_cup_c if highest_cup_c is None else highest_cup_c
    if move.cup_c > load_at_c + SAME_C:
        raise forbidden(
            f"The cup shows {move.cup_c:g} °C; loading is allowed at {load_at_c:g} °C or below, "
            "never above.",
            method.clause("loading"),
            "Let it cool, then load. If the specimen is in, discard it and clean the cup.",
        )
    if move.specimen in bench.used:
        raise forbidden(
            f"Specimen {move.specimen} has been in the cup before.",
            method.clause("specimen"),
            f"Take a fresh specimen, number {max(bench.used) + 1}.",
        )
    rule = method.specimen_rule(state.product, set_cup_c)
    if rule.fill:
        return  # filled to a mark; nobody measures the volume
    tolerance_ml = 0.0 if rule.volume_tolerance is None else rule.volume_tolerance.value
    if abs(move.volume_ml - rule.volume.value) > tolerance_ml + SAME_C:
        raise forbidden(
            f"{move.volume_ml:g} mL is not the specimen for {set_cup_c:g} °C, which is "
            f"{rule.volume.value:g} mL.",
            method.clause("specimen"),
            f"Clean the cup and load {rule.volume.value:g} mL.",
        )
