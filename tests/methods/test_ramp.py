"""The ramp: one specimen, the cup's temperature at the flash; too near the start does not count."""

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
    MoveWithdrawn,
    Observation,
    RampStarted,
    SpecimenLoaded,
    advance,
    begin,
    instruction,
    method,
    outcome,
    replay,
)
from closedcup.quantities import parse_limit

METHOD = method("d7236")
temperatures = st.integers(400, 1340).map(lambda tenths: tenths / 10)


def start(start_cup_c=45.0, *, expected_c=60.0, **more):
    return begin(
        METHOD,
        FiniteAim(1.0, expected_c),
        start_cup_c=start_cup_c,
        pressure_kpa=101.3,
        probe_correction_c=0.0,
        **more,
    )


def running(state, *, automatic=True, specimen=1):
    at_c = instruction(state).cup_c
    return replay(
        state,
        [CupSet(at_c), SpecimenLoaded(specimen, 2.0, at_c), RampStarted(at_c, automatic)],
    )


@settings(max_examples=40, deadline=None)
@given(temperatures, st.integers(-400, 300))
def test_ends_within_an_interval_of_the_flash_point(true_c, tenths_away):
    begin_c = min(max(true_c + tenths_away / 10, 20.0), 130.0)
    state = follow(start(begin_c, expected_c=None), flashes_from(true_c))
    found = outcome(state)
    assert found.kind == "flash point"
    interval_c = 1 if found.observed_cup_c <= 100 else 2
    assert 0 <= found.observed_cup_c - true_c < interval_c + 1e-6
    assert found.step_c == interval_c
    assert found.determinations[-1].set_cup_c < found.observed_cup_c
    specimens = [one.specimen for one in found.determinations]
    assert specimens == list(range(1, len(specimens) + 1))


@settings(max_examples=30, deadline=None)
@given(st.floats(30, 120))
def test_never_leaves_the_range(true_c):
    state = start(45.0, apparatus_low_cup_c=40.0, apparatus_high_cup_c=90.0)
    found = outcome(follow(state, flashes_from(true_c)))
    if true_c > 90:
        assert (found.kind, found.highest_no_flash_cup_c) == ("no flash up to", 90.0)
    elif true_c <= 40:
        assert (found.kind, found.lowest_flash_cup_c) == ("flash at or below", 40.0)
    else:
        assert found.kind == "flash point"


def test_a_flash_at_the_first_application_does_not_count():
    state = running(start())
    state = advance(state, IgniterApplied(45.0, Observation.FLASH, detector=True))
    assert outcome(state) is None
    due = instruction(state)
    assert (due.action, due.cup_c) == ("set cup", 30.0)
    assert "first application" in due.clause


def test_burning_that_goes_on_stops_the_ramp_and_starts_lower():
    state = running(start())
    state = advance(state, IgniterApplied(46.0, Observation.CONTINUOUS_BURNING))
    assert (instruction(state).action, instruction(state).cup_c) == ("set cup", 31.0)


def test_an_apparatus_that_applies_by_itself_needs_one_press():
    state = advance(running(start()), IgniterApplied(59.0, Observation.FLASH, detector=True))
    found = outcome(state)
    assert (found.observed_cup_c, found.deviations) == (59.0, ())


def test_by_hand_a_skipped_application_is_a_deviation_and_an_early_one_refused():
    state = running(start(), automatic=False)
    state = advance(state, IgniterApplied(45.0, Observation.NO_FLASH, detector=False))
    with pytest.raises(Refused, match="next due at 46"):
        advance(state, IgniterApplied(45.2, Observation.NO_FLASH))
    state = advance(state, IgniterApplied(48.0, Observation.FLASH, detector=True))
    assert any("due at 46" in text for text in outcome(state).deviations)


def test_the_detector_calls_the_flash():
    state = running(start())
    state = advance(state, IgniterApplied(59.0, Observation.HALO_ONLY, detector=True))
    found = outcome(state)
    assert found.observed_cup_c == 59.0
    assert any("the detector decides" in text for text in found.warnings)


@pytest.mark.parametrize(
    ("moves", "tried", "says"),
    [
        ([], CupSet(50.0), "above the start due"),
        ([], SpecimenLoaded(1, 2.0, 45.0), "not set"),
        ([CupSet(45.0)], SpecimenLoaded(1, 2.0, 45.5), "never above"),
        ([CupSet(45.0)], SpecimenLoaded(1, 4.0, 45.0), "2 mL"),
        ([CupSet(45.0)], RampStarted(45.0), "No fresh specimen"),
        (
            [CupSet(45.0), SpecimenLoaded(1, 2.0, 45.0)],
            IgniterApplied(45.0, Observation.FLASH),
            "No ramp",
        ),
        ([CupSet(45.0), SpecimenLoaded(1, 2.0, 45.0)], CupSet(40.0), "in the cup"),
    ],
)
def test_what_the_method_forbids_is_refused(moves, tried, says):
    with pytest.raises(Refused, match=says):
        advance(replay(start(), moves), tried)


def test_withdrawing_the_flash_lets_the_ramp_go_on():
    state = advance(running(start()), IgniterApplied(59.0, Observation.FLASH, detector=True))
    state = advance(state, MoveWithdrawn(3, "pressed too early"))
    assert outcome(state) is None
    state = advance(state, IgniterApplied(61.0, Observation.FLASH, detector=True))
    found = outcome(state)
    assert found.observed_cup_c == 61.0
    assert [one.status for one in found.determinations] == ["withdrawn", "valid"]


def test_a_start_outside_the_window_stays_with_the_result():
    found = outcome(follow(start(30.0, expected_c=60.0), flashes_from(58.0)))
    assert any("asks 15 ± 5" in text for text in found.deviations)


def test_the_ramp_gives_no_answer_at_a_limit():
    with pytest.raises(InputError, match="does not give"):
        begin(
            METHOD,
            LimitAim(parse_limit("<60 degC")),
            pressure_kpa=101.3,
            probe_correction_c=None,
        )
