"""Flash or no flash at a limit: the operator sets the temperature, a no flash is repeated."""

import pytest
from following_analyst import flashes_from, follow
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.methods import (
    CupSet,
    FiniteAim,
    IgniterApplied,
    LimitAim,
    Observation,
    SpecimenLoaded,
    advance,
    begin,
    corrected_c,
    instruction,
    method,
    outcome,
    replay,
    set_point,
)
from closedcup.quantities import parse_limit

METHOD = method("d3828-a")
operators = st.sampled_from(["<", "<=", ">", ">="])


def start(limit="<=60 degC", kpa=101.3, probe=0.0):
    return begin(METHOD, LimitAim(parse_limit(limit)), pressure_kpa=kpa, probe_correction_c=probe)


def seen(state, eye, **more):
    due = instruction(state)
    if due.action == "set cup":
        state = advance(state, CupSet(due.cup_c))
        due = instruction(state)
    state = advance(state, SpecimenLoaded(due.specimen, due.specimen_ml, due.cup_c))
    return advance(state, IgniterApplied(due.cup_c, Observation(eye), dwell_s=60, **more))


@settings(deadline=None)
@given(operators, st.integers(100, 1800), st.floats(70, 106), st.floats(-2, 2), st.floats(-9, 9))
def test_the_answer_is_the_limits_own(operator, tenths, kpa, probe, away_c):
    """A sample more than the cup's resolution away from the limit is always answered rightly."""
    limit = parse_limit(f"{operator} {tenths / 10} degC")
    flash_c = limit.corrected_c + away_c
    state = begin(METHOD, LimitAim(limit), pressure_kpa=kpa, probe_correction_c=probe)
    threshold_cup_c = state.cup(flash_c)
    found = outcome(follow(state, flashes_from(threshold_cup_c)))
    assert found.confirmed
    assert len(found.determinations) == (1 if found.kind == "flash" else 2)
    if abs(away_c) > 0.2:
        assert found.meets_limit == limit.holds(flash_c)


@given(operators, st.integers(100, 1800), st.floats(70, 106), st.sampled_from([None, -0.4, 0.7]))
def test_set_point_and_correction_undo_each_other(operator, tenths, kpa, probe):
    point = set_point(
        parse_limit(f"{operator} {tenths / 10} degC"), pressure_kpa=kpa, probe_correction_c=probe
    )
    back_c = corrected_c(point.cup_c, pressure_kpa=kpa, probe_correction_c=probe)
    assert back_c == pytest.approx(point.tested_corrected_c, abs=1e-9)
    assert abs(point.cup_settable_c - point.cup_c) <= 0.05 + 1e-9


def test_a_lone_no_flash_asks_for_a_second_fresh_specimen():
    state = seen(start(), "no flash")
    assert outcome(state) is None
    due = instruction(state)
    assert (due.action, due.specimen, due.cup_c) == ("load specimen", 2, 60.0)
    assert "lone no flash" in due.why
    state = seen(state, "no flash")
    assert (outcome(state).kind, outcome(state).meets_limit) == ("no flash", False)


def test_one_flash_of_two_governs_and_says_so():
    state = seen(seen(start(">60 degC"), "no flash"), "flash")
    found = outcome(state)
    assert (found.kind, found.meets_limit) == ("flash", False)
    assert any("flash governs" in warning for warning in found.warnings)


def test_just_under_is_not_the_limit_itself():
    assert instruction(start("<60 degC")).cup_c == 59.9
    assert instruction(start(">=60 degC")).cup_c == 59.9
    assert instruction(start("<=60 degC")).cup_c == 60.0
    assert instruction(start(">60 degC")).cup_c == 60.0


def test_a_cup_off_its_set_point_weakens_the_answer_and_says_so():
    def warned(eye, shown_c):
        state = start("<60 degC")
        while outcome(state) is None:
            if instruction(state).action == "set cup":
                state = advance(state, CupSet(59.9))
            state = advance(state, SpecimenLoaded(instruction(state).specimen, 2.0, 59.0))
            state = advance(state, IgniterApplied(shown_c, Observation(eye), dwell_s=60))
        return any("holds for that temperature only" in text for text in outcome(state).warnings)

    assert warned("flash", 60.1)
    assert not warned("flash", 59.8)
    assert warned("no flash", 59.8)
    assert not warned("no flash", 59.9)


def test_no_other_temperature_answers_the_limit():
    with pytest.raises(Refused, match="not the temperature due"):
        advance(start(), CupSet(55.0))


def test_masking_at_a_limit_answers_nothing():
    found = outcome(seen(start(), "swollen or coloured flame"))
    assert (found.kind, found.meets_limit) == ("stopped", None)


def test_a_method_without_the_test_says_which_has_it():
    with pytest.raises(InputError, match="d3828-b"):
        begin(METHOD, FiniteAim(), start_cup_c=60, pressure_kpa=101, probe_correction_c=None)
    with pytest.raises(Refused, match="open cup"):
        begin(
            method("d92"), FiniteAim(), start_cup_c=100, pressure_kpa=101, probe_correction_c=None
        )


def test_replaying_the_moves_stands_where_it_stood():
    state = seen(start(), "no flash")
    assert replay(start(), state.moves) == state
