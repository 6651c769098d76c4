"""The cup temperatures a test may use: the method's scope and the apparatus's range together."""

import math

from closedcup.methods.state import CUP_RESOLUTION_C, State

_NOISE_DIGITS = 6  # binary noise of a temperature divided by the cup's resolution


def lowest_cup_c(state: State) -> float:
    """Return the lowest settable cup temperature inside scope and apparatus, or -infinity."""
    ends = [end for end in (state.scope_low_cup_c, state.apparatus_low_cup_c) if end is not None]
    if not ends:
        return -math.inf
    return math.ceil(_in_steps(max(ends))) * CUP_RESOLUTION_C


def highest_cup_c(state: State) -> float:
    """Return the highest settable cup temperature inside scope and apparatus, or infinity."""
    ends = [end for end in (state.scope_high_cup_c, state.apparatus_high_cup_c) if end is not None]
    if not ends:
        return math.inf
    return math.floor(_in_steps(min(ends))) * CUP_RESOLUTION_C


def what_ends_the_range(state: State) -> str:
    """Say whether the apparatus or the method's scope sets the highest temperature."""
    scope, apparatus = state.scope_high_cup_c, state.apparatus_high_cup_c
    if apparatus is not None and (scope is None or apparatus <= scope):
        return "the highest the apparatus reaches"
    return "the end of the method's scope"


def _in_steps(cup_c: float) -> float:
    return round(cup_c / CUP_RESOLUTION_C, _NOISE_DIGITS)
