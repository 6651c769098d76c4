"""Every guided method: any path allowed ends with the right value; nothing forbidden passes."""

import contextlib
import math

import pytest
from following_analyst import flashes_from, follow, move_for
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.methods import (
    CupRecovered,
    CupSet,
    FiniteAim,
    IgniterApplied,
    LimitAim,
    MoveWithdrawn,
    Observation,
    RampStarted,
    RateChecked,
    Reach,
    SeriesEnded,
    SpecimenLoaded,
    advance,
    begin,
    cup_reading_c,
    determinations,
    instruction,
    methods,
    outcome,
)
from closedcup.methods.moves import standing_moves
from closedcup.methods.ramp_standing import ramp_view
from closedcup.methods.ramp_terms import first_application_c, window_c
from closedcup.planning import specimens_as_written
from closedcup.quantities import parse_limit

FINITE = [one for one in methods() if one.guided and one.test == "finite"]
AT_LIMIT = [one for one in methods() if one.guided and one.test == "flash/no-flash"]
named = {"ids": lambda one: one.id}
pressures = st.sampled_from([101.3, 84.6, 104.0])
VOID = (Observation.IGNITER_OUT, Observation.SPECIMEN_LOST, Observation.BURNING_OUTSIDE)


@st.composite
def begun(draw, method, *, furthest_c):
    """Return a test and a flash point inside the scope, the expected value near it or none."""
    low_c = -20.0 if method.low_c is None else method.low_c + 1
    high_c = min(method.high_c - 1, low_c + furthest_c)
    kpa = draw(pressures)
    true_c = draw(st.integers(math.ceil(low_c * 10), math.floor(high_c * 10))) / 10
    off_c = draw(st.none() | st.integers(-350, 350).map(lambda tenths: tenths / 10))
    expected_c = None if off_c is None else min(max(true_c + off_c, low_c), high_c)
    state = begin(
        method,
        FiniteAim(expected_corrected_c=expected_c),
        start_cup_c=_start(method, expected_c, kpa),
        pressure_kpa=kpa,
        probe_correction_c=0.0,
        apparatus_low_cup_c=-60.0,
        apparatus_high_cup_c=400.0,
    )
    return state, cup_reading_c(true_c, pressure_kpa=kpa, probe_correction_c=0.0)


def _start(method, expected_c, kpa):
    """Return the start as the plan gives it: by the method's offset, within reach."""
    reach = Reach(method, kpa, 0.0, -60.0, 400.0)
    if expected_c is None:
        unknown = method.numbers.get("unknown_start")
        return max(reach.lowest_cup_c, -10.0) if unknown is None else unknown.value
    cup_c = cup_reading_c(expected_c, pressure_kpa=kpa)
    return max(cup_c - method.number("start_offset").value, reach.lowest_start_cup_c)


def _step_c(found):
    return found.step_c + 1e-6


@pytest.mark.parametrize("method", FINITE, **named)
@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_following_the_guide_ends_within_a_step(method, data):
    state, true_cup_c = data.draw(begun(method, furthest_c=90))
    state = follow(state, flashes_from(true_cup_c))
    found = outcome(state)
    assert found.kind == "flash point"
    assert found.confirmed
    assert 0 <= found.observed_cup_c - true_cup_c < _step_c(found)
    assert found.highest_no_flash_cup_c < true_cup_c <= found.lowest_flash_cup_c
    if state.aim.expected_corrected_c is not None:
        assert len(found.determinations) <= specimens_as_written(
            method, state.aim, start_cup_c=state.start_cup_c, flash_cup_c=true_cup_c
        )
    window = window_c(method)
    if window is not None:
        view = ramp_view(state)
        first_c = first_application_c(view.bench.runs[-1], view.terms[-1])
        above_c = round(found.observed_cup_c - first_c, 6)
        assert window[0] <= above_c <= window[1]


def wander(data, state, liquid, *, at_most):
    """Try what comes to mind; what is refused changes nothing."""
    for kind in data.draw(st.lists(st.sampled_from(sorted(_TRIES)), max_size=at_most)):
        off_c = data.draw(st.integers(-80, 80)) / 10
        with contextlib.suppress(Refused, InputError):
            state = advance(state, _TRIES[kind](state, liquid, off_c))
    return state


@pytest.mark.parametrize("method", FINITE, **named)
@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_any_path_ends_rightly_and_no_forbidden_move_passes(method, data):
    state, true_cup_c = data.draw(begun(method, furthest_c=60))
    liquid = flashes_from(true_cup_c)
    state = follow(wander(data, state, liquid, at_most=25), liquid, at_most=3000)
    found = outcome(state)
    _holds_nothing_forbidden(state)
    if found.lowest_flash_cup_c is not None:
        assert found.lowest_flash_cup_c >= true_cup_c
    if found.highest_no_flash_cup_c is not None:
        assert found.highest_no_flash_cup_c < true_cup_c
    if _ended_early(state):
        assert not found.confirmed
        assert any("ended before" in text for text in found.deviations)
        return
    assert found.kind in {"flash point", "flash at or below"}
    if found.kind == "flash point" and not found.deviations:
        assert 0 <= found.observed_cup_c - true_cup_c < _step_c(found)


@pytest.mark.parametrize("method", FINITE, **named)
@settings(max_examples=3, deadline=None)
@given(data=st.data())
def test_a_test_can_be_ended_at_any_point_and_says_no_more_than_was_seen(method, data):
    state, true_cup_c = data.draw(begun(method, furthest_c=60))
    liquid = flashes_from(true_cup_c)
    for _ in range(data.draw(st.integers(0, 60))):
        if outcome(state) is not None:
            return
        state = advance(
            state, move_for(instruction(state), liquid, automatic=method.automatic_only)
        )
    if outcome(state) is not None:
        return
    if instruction(state).action in {"await recovery", "start ramp", "wait and apply"}:
        with pytest.raises(Refused, match="specimen is in the cup"):
            advance(state, SeriesEnded("sample used up"))
        state = advance(state, IgniterApplied(instruction(state).cup_c, VOID[1]))
    ended = advance(state, SeriesEnded("sample used up"))
    found = outcome(ended)
    assert found.kind in {
        "approximate flash point",
        "flash at or below",
        "no flash up to",
        "stopped",
    }
    if found.lowest_flash_cup_c is not None:
        assert found.lowest_flash_cup_c >= true_cup_c
    if found.highest_no_flash_cup_c is not None:
        assert found.highest_no_flash_cup_c < true_cup_c
    assert instruction(ended).action == "done"
    with pytest.raises(Refused, match="over"):
        advance(ended, CupSet(20.0))
    again = advance(ended, MoveWithdrawn(len(ended.moves) - 1, "more sample came"))
    assert instruction(again) == instruction(state)


@pytest.mark.parametrize("method", AT_LIMIT, **named)
@settings(max_examples=15, deadline=None)
@given(data=st.data(), true_c=st.floats(50, 70), kpa=pressures)
def test_at_a_limit_any_path_ends_with_the_limits_answer(method, data, true_c, kpa):
    limit = parse_limit("<=60 degC")
    state = begin(method, LimitAim(limit), pressure_kpa=kpa, probe_correction_c=0.0)
    true_cup_c = cup_reading_c(true_c, pressure_kpa=kpa)
    liquid = flashes_from(true_cup_c)
    state = follow(wander(data, state, liquid, at_most=15), liquid)
    found = outcome(state)
    _holds_nothing_forbidden(state)
    if found.kind in {"flash", "no flash"}:
        assert (found.kind == "flash") == (found.observed_cup_c >= true_cup_c)
    else:
        assert _ended_early(state)


@pytest.mark.parametrize("method", AT_LIMIT, **named)
@settings(max_examples=15, deadline=None)
@given(true_c=st.floats(20, 90), kpa=pressures)
def test_at_a_limit_the_answer_is_the_limits(method, true_c, kpa):
    limit = parse_limit("<=60 degC")
    state = begin(method, LimitAim(limit), pressure_kpa=kpa, probe_correction_c=0.0)
    true_cup_c = cup_reading_c(true_c, pressure_kpa=kpa)
    state = follow(state, flashes_from(true_cup_c))
    found = outcome(state)
    assert found.meets_limit == (true_cup_c <= state.start_cup_c)
    assert len(found.determinations) == (1 if found.kind == "flash" else 2)
    _holds_nothing_forbidden(state)


# --- an analyst who tries what comes to mind, and sees what is there -----------------------------


def _due(state, liquid, off_c):
    return move_for(instruction(state), liquid, automatic=state.method.automatic_only)


def _set(state, liquid, off_c):
    return CupSet(round(instruction(state).cup_c + off_c, 1))


def _load(state, liquid, off_c):
    due = instruction(state)
    return SpecimenLoaded(due.specimen or 1, due.specimen_ml, round(due.cup_c + off_c, 1))


def _load_used(state, liquid, off_c):
    due = instruction(state)
    return SpecimenLoaded(max(due.specimen - 1, 1), due.specimen_ml, due.cup_c)


def _load_other_volume(state, liquid, off_c):
    due = instruction(state)
    return SpecimenLoaded(due.specimen, due.specimen_ml + 1, due.cup_c)


def _apply(state, liquid, off_c):
    if state.method.automatic_only:
        off_c = min(off_c, 0)  # an apparatus that applies by itself skips no application
    cup_c = round(instruction(state).cup_c + off_c, 1)
    eye = liquid(cup_c)
    return IgniterApplied(cup_c, eye, detector=eye is Observation.FLASH, dwell_s=60)


def _void(state, liquid, off_c):
    return IgniterApplied(instruction(state).cup_c, VOID[int(abs(off_c)) % 3])


def _heat(state, liquid, off_c):
    return RampStarted(round(instruction(state).cup_c + off_c, 1), automatic=False)


def _withdraw(state, liquid, off_c):
    acts = [index for index, _ in standing_moves(state.moves)]
    return MoveWithdrawn(acts[-1] if acts else 0, "a slip")


def _withdraw_earlier(state, liquid, off_c):
    acts = [index for index, _ in standing_moves(state.moves)]
    return MoveWithdrawn(acts[int(abs(off_c) * 10) % len(acts)] if acts else 0, "seen wrongly")


def _give_up(state, liquid, off_c):
    return SeriesEnded("sample used up")


def _recover(state, liquid, off_c):
    return CupRecovered(round(instruction(state).cup_c + off_c / 20, 1))


def _rate(state, liquid, off_c):
    return RateChecked(5.5)


_TRIES = {
    "do what is due": _due,
    "do what is due, too": _due,
    "do what is due, again": _due,
    "set another temperature": _set,
    "load": _load,
    "load a used specimen": _load_used,
    "load another volume": _load_other_volume,
    "apply": _apply,
    "lose it": _void,
    "start heating": _heat,
    "see the cup recover": _recover,
    "withdraw": _withdraw,
    "withdraw an earlier one": _withdraw_earlier,
    "give up": _give_up,
    "check the rate": _rate,
}


def _ended_early(state):
    return any(isinstance(move, SeriesEnded) for _, move in standing_moves(state.moves))


def _holds_nothing_forbidden(state):
    """Look at the record alone, without the code that permits moves."""
    set_c, specimens, seen_in_specimen, last_c, heating = None, [], 0, -math.inf, False
    for _, move in standing_moves(state.moves):
        match move:
            case CupSet(cup_c):
                set_c, heating = cup_c, False
            case SpecimenLoaded(specimen, _, cup_c):
                assert cup_c <= set_c + 1e-6
                assert specimen not in specimens
                specimens.append(specimen)
                seen_in_specimen, last_c, heating = 0, -math.inf, False
            case RampStarted(cup_c, automatic):
                assert state.method.procedure != "equilibrium"
                assert automatic or not state.method.automatic_only
                assert not heating
                heating = True
            case IgniterApplied(cup_c, eye) if eye not in VOID:
                assert cup_c >= last_c + 0.2  # never twice at one temperature
                assert heating or state.method.kind == "equilibrium"
                if state.method.procedure == "equilibrium" or isinstance(state.aim, LimitAim):
                    assert seen_in_specimen == 0
                    assert abs(cup_c - set_c) <= 0.2 + 1e-6
                seen_in_specimen, last_c = seen_in_specimen + 1, cup_c
            case _:
                pass
    assert len(specimens) >= len({one.specimen for one in determinations(state)})
