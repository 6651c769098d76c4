"""The finite search by equilibrium: for any flash point it ends, and the value is right."""

import contextlib

import pytest
from following_analyst import flashes_from, follow, move_for
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import ClosedcupError, InputError, Refused
from closedcup.methods import (
    CupSet,
    DeviationNoted,
    FiniteAim,
    IgniterApplied,
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
from closedcup.planning import specimens_as_written

METHOD = method("d3828-b")
temperatures = st.integers(-200, 2500).map(lambda tenths: tenths / 10)
starts_off = st.integers(-400, 400).map(lambda tenths: tenths / 10)
steps = st.sampled_from([1.0, 0.5])
pressures = st.floats(70, 106)
quick = settings(max_examples=60, deadline=None)
probes = st.sampled_from([None, 0.0, -0.4, 0.3])


def near(true_c, off_c):
    """Return a start that far from the flash point, inside the scope at any pressure drawn."""
    return min(max(true_c + off_c, -20.0), 260.0)


def start(start_cup_c=60.0, *, step_c=1.0, pressure_kpa=101.3, probe=0.0, **more):
    return begin(
        METHOD,
        FiniteAim(step_c),
        start_cup_c=start_cup_c,
        pressure_kpa=pressure_kpa,
        probe_correction_c=probe,
        **more,
    )


def one_specimen(cup_c, eye, *, specimen, dwell_s=60.0, **seen):
    volume_ml = 2.0 if cup_c <= 100 else 4.0
    return [
        CupSet(cup_c),
        SpecimenLoaded(specimen, volume_ml, cup_c),
        IgniterApplied(cup_c, Observation(eye), dwell_s=dwell_s, **seen),
    ]


@quick
@given(temperatures, starts_off, steps, pressures, probes)
def test_ends_with_the_lowest_flash_a_step_above_a_no_flash(true_c, off_c, step_c, kpa, probe):
    begin_c = near(true_c, off_c)
    state = follow(
        start(begin_c, step_c=step_c, pressure_kpa=kpa, probe=probe), flashes_from(true_c)
    )
    found = outcome(state)
    assert found.kind == "flash point"
    assert 0 <= found.observed_cup_c - true_c < step_c + 1e-6
    assert found.highest_no_flash_cup_c < true_c <= found.lowest_flash_cup_c
    assert found.lowest_flash_cup_c - found.highest_no_flash_cup_c <= step_c + 1e-6
    assert found.deviations == ()
    assert len(found.determinations) <= specimens_as_written(
        METHOD, FiniteAim(step_c), start_cup_c=state.start_cup_c, flash_cup_c=true_c
    )
    assert [one.volume_ml for one in found.determinations] == [
        2.0 if one.set_cup_c <= 100 else 4.0 for one in found.determinations
    ]


@quick
@given(temperatures, starts_off, st.floats(1, 40))
def test_burning_that_goes_on_never_becomes_the_value(true_c, off_c, margin_c):
    begin_c = near(true_c, off_c)
    liquid = flashes_from(true_c, burns_on_from=true_c + margin_c)
    found = outcome(follow(start(begin_c), liquid))
    if found.kind == "flash point":
        assert 0 <= found.observed_cup_c - true_c < 1 + 1e-6
    else:  # the sight next to a no flash does not hold together
        assert found.kind in {"stopped", "flash at or below"}


@quick
@given(st.floats(-60, 200), st.floats(-10, 120))
def test_never_leaves_the_range_of_method_and_apparatus(true_c, begin_c):
    state = start(begin_c, apparatus_low_cup_c=-10.0, apparatus_high_cup_c=120.0)
    found = outcome(follow(state, flashes_from(true_c)))
    assert all(-10 <= one.cup_c <= 120 for one in found.determinations)
    if true_c > 120:
        assert (found.kind, found.highest_no_flash_cup_c) == ("no flash up to", 120.0)
    elif true_c <= -10:
        assert (found.kind, found.lowest_flash_cup_c) == ("flash at or below", -10.0)
    else:
        assert found.kind == "flash point"


@quick
@given(temperatures, starts_off, st.data())
def test_withdrawing_a_slip_and_recording_it_again_changes_nothing(true_c, off_c, data):
    begin_c = near(true_c, off_c)
    liquid, state = flashes_from(true_c), start(begin_c)
    slips = 0
    while outcome(state) is None:
        move = move_for(instruction(state), liquid)
        slip = isinstance(move, IgniterApplied) and data.draw(st.booleans())
        if slip:
            wrong = IgniterApplied(move.cup_c, Observation.HALO_ONLY, dwell_s=move.dwell_s)
            state = advance(state, wrong)
            state = advance(state, MoveWithdrawn(len(state.moves) - 1, "pressed the wrong key"))
            slips += 1
        state = advance(state, move)
    found, clean = outcome(state), outcome(follow(start(begin_c), liquid))
    assert found.observed_cup_c == clean.observed_cup_c
    assert sum(one.status == "withdrawn" for one in found.determinations) == slips


@quick
@given(temperatures, starts_off, st.lists(st.sampled_from(list(Observation)), max_size=60))
def test_any_sights_end_the_test_or_keep_it_going(true_c, off_c, sights):
    begin_c = near(true_c, off_c)
    queue = iter(sights)
    liquid = flashes_from(true_c)
    state = follow(start(begin_c), lambda cup_c: next(queue, None) or liquid(cup_c))
    found = outcome(state)
    if found.kind == "flash point":
        at = {one.set_cup_c: one.flashed for one in found.determinations if one.status == "valid"}
        assert at[min(cup for cup, flashed in at.items() if flashed)]
        assert found.highest_no_flash_cup_c < found.lowest_flash_cup_c


_moves = st.one_of(
    st.builds(CupSet, st.sampled_from([20.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0, 400.0])),
    st.builds(
        SpecimenLoaded,
        st.integers(1, 6),
        st.sampled_from([1.0, 2.0, 4.0]),
        st.sampled_from([20.0, 54.9, 55.0, 60.0, 60.5, 80.0]),
    ),
    st.builds(
        IgniterApplied,
        st.sampled_from([45.0, 50.0, 55.0, 60.0, 61.0, 65.0]),
        st.sampled_from(list(Observation)),
        st.sampled_from([None, True, False]),
        st.sampled_from([None, 10.0, 60.0, 300.0]),
    ),
    st.builds(RampStarted, st.just(60.0)),
    st.builds(MoveWithdrawn, st.integers(0, 12), st.sampled_from(["slip", ""])),
    st.builds(DeviationNoted, st.sampled_from(["draught", " "])),
)


@quick
@given(st.lists(_moves, max_size=40))
def test_whatever_is_tried_no_forbidden_move_is_accepted(tried):
    state = start(60.0)
    for move in tried:
        with contextlib.suppress(Refused, InputError):
            state = advance(state, move)
    gone = {move.index for move in state.moves if isinstance(move, MoveWithdrawn)}
    cup_c, fresh, used = None, False, set()
    for index, move in enumerate(state.moves):
        if index in gone or isinstance(move, MoveWithdrawn):
            continue
        if isinstance(move, CupSet):
            cup_c = move.cup_c
            assert cup_c <= 300
        elif isinstance(move, SpecimenLoaded):
            assert move.cup_c <= cup_c
            assert move.specimen not in used
            assert move.volume_ml == 2.0
            used.add(move.specimen)
            fresh = True
        elif isinstance(move, IgniterApplied):
            assert fresh
            fresh = False
        else:
            assert isinstance(move, DeviationNoted)
    assert replay(start(60.0), state.moves) == state


@pytest.mark.parametrize(
    ("move", "says"),
    [
        (CupSet(70.0), "not the temperature due"),
        (SpecimenLoaded(1, 2.0, 60.1), "never above"),
        (SpecimenLoaded(1, 4.0, 60.0), "2 mL"),
        (IgniterApplied(60.0, Observation.FLASH), "No fresh specimen"),
        (RampStarted(60.0), "no ramp"),
    ],
)
def test_a_forbidden_move_names_the_clause_and_what_to_do(move, says):
    state = advance(start(60.0), CupSet(60.0))
    with pytest.raises(Refused, match=says) as refusal:
        advance(state, move)
    assert refusal.value.kind == "forbidden-move"
    assert refusal.value.where
    assert refusal.value.fix


def test_the_same_specimen_is_never_tested_twice():
    state = replay(start(), one_specimen(60.0, "no flash", specimen=1))
    with pytest.raises(Refused, match="meets the igniter once"):
        advance(state, IgniterApplied(60.0, Observation.FLASH, dwell_s=60))
    state = advance(state, CupSet(65.0))
    with pytest.raises(Refused, match="has been in the cup before"):
        advance(state, SpecimenLoaded(1, 2.0, 60.0))


def _reversed():
    """No flash at 60, then the analyst goes lower than asked and it flashes at 59."""
    return replay(
        start(),
        [*one_specimen(60.0, "no flash", specimen=1), *one_specimen(59.0, "flash", specimen=2)],
    )


def test_a_reversal_asks_for_both_to_be_repeated_lower_first():
    state = _reversed()
    assert instruction(state).cup_c == 59.0
    assert "repeat both" in instruction(state).why
    state = replay(state, one_specimen(59.0, "no flash", specimen=3))
    assert instruction(state).cup_c == 60.0  # the other too, though the pair is settled
    state = replay(state, one_specimen(60.0, "no flash", specimen=4))
    state = follow(state, flashes_from(61.5))
    found = outcome(state)
    assert (found.kind, found.observed_cup_c) == ("flash point", 62.0)
    assert [one.status for one in found.determinations[:2]] == ["superseded", "superseded"]


def test_a_reversal_that_persists_voids_the_series():
    state = replay(
        _reversed(),
        [*one_specimen(59.0, "flash", specimen=3), *one_specimen(60.0, "no flash", specimen=4)],
    )
    found = outcome(state)
    assert found.kind == "stopped"
    assert "void" in found.text
    assert found.observed_cup_c is None


@pytest.mark.parametrize("eye", ["igniter out", "specimen lost", "burning outside the cup"])
def test_a_void_determination_is_repeated_at_the_same_temperature(eye):
    state = replay(start(), one_specimen(60.0, eye, specimen=1))
    due = instruction(state)
    assert (due.action, due.cup_c, due.specimen) == ("load specimen", 60.0, 2)
    assert "void" in due.why


def test_a_short_dwell_is_recorded_and_void_a_long_one_is_a_deviation():
    state = replay(start(), one_specimen(60.0, "flash", specimen=1, dwell_s=30))
    assert instruction(state).cup_c == 60.0
    state = replay(state, one_specimen(60.0, "flash", specimen=2, dwell_s=200)[1:])
    assert instruction(state).cup_c == 55.0
    found = outcome(follow(state, flashes_from(58.5)))
    assert [one.status for one in found.determinations[:2]] == ["void", "valid"]
    assert len(found.deviations) == 2


def test_masking_stops_for_the_reviewer_and_gives_no_value():
    state = replay(start(), one_specimen(60.0, "swollen or coloured flame", specimen=1))
    found = outcome(state)
    assert (found.kind, found.observed_cup_c) == ("stopped", None)
    assert instruction(state).action == "stopped"
    with pytest.raises(Refused, match="over"):
        advance(state, CupSet(55.0))


def test_a_halo_is_no_flash_and_boiling_over_twice_ends_without_a_value():
    state = replay(start(), one_specimen(60.0, "halo only", specimen=1))
    assert instruction(state).cup_c == 65.0
    state = replay(state, one_specimen(65.0, "boil-over", specimen=2))
    state = replay(state, one_specimen(65.0, "boil-over", specimen=3)[1:])
    found = outcome(state)
    assert (found.kind, found.highest_no_flash_cup_c) == ("no flash up to", 60.0)


def test_eye_and_detector_are_kept_apart_and_the_eye_decides():
    state = replay(start(), one_specimen(60.0, "halo only", specimen=1, detector=True))
    assert instruction(state).cup_c == 65.0
    found = outcome(follow(state, flashes_from(62.5)))
    assert any("disagree" in warning for warning in found.warnings)
    assert found.determinations[0].detector is True


def test_for_fame_the_detector_decides():
    state = replay(
        start(120.0, product="fame"),
        [
            CupSet(120.0),
            SpecimenLoaded(1, 2.0, 120.0),
            IgniterApplied(120.0, Observation.NO_FLASH, detector=True, dwell_s=60),
        ],
    )
    assert instruction(state).cup_c == 115.0


def test_going_lower_than_asked_is_allowed_and_stays_with_the_result():
    state = replay(start(), one_specimen(60.0, "flash", specimen=1))
    state = follow(advance(state, CupSet(50.0)), flashes_from(57.5))
    found = outcome(state)
    assert found.observed_cup_c == 58.0
    assert any("next temperature was 55" in text for text in found.deviations)


def test_a_setting_withdrawn_at_once_is_no_deviation():
    state = replay(start(), one_specimen(60.0, "flash", specimen=1))
    state = advance(state, CupSet(45.0))
    state = advance(state, MoveWithdrawn(3, "meant 55"))
    assert instruction(state).cup_c == 55.0
    assert outcome(follow(state, flashes_from(57.5))).deviations == ()


def test_a_loading_on_which_an_observation_rests_is_not_withdrawn():
    state = replay(start(), one_specimen(60.0, "flash", specimen=1))
    with pytest.raises(Refused, match="rest on"):
        advance(state, MoveWithdrawn(1, "slip"))
    with pytest.raises(ClosedcupError, match="reason"):
        advance(state, MoveWithdrawn(2, " "))
