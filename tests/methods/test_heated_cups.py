"""Large cups on a ramp, a bath, a continuously closed cup: what counts, what is repeated."""

import pytest
from following_analyst import flashes_from, follow

from closedcup.errors import Refused
from closedcup.methods import (
    CupSet,
    FiniteAim,
    IgniterApplied,
    Observation,
    RampStarted,
    RateChecked,
    SpecimenLoaded,
    advance,
    begin,
    instruction,
    method,
    outcome,
    replay,
)

NO_FLASH, FLASH = Observation.NO_FLASH, Observation.FLASH


def start(identifier, start_cup_c, expected_c=None, **more):
    return begin(
        method(identifier),
        FiniteAim(expected_corrected_c=expected_c),
        start_cup_c=start_cup_c,
        pressure_kpa=101.3,
        probe_correction_c=0.0,
        **more,
    )


def running(state, *, specimen=1, automatic=False, load_c=-20.0):
    due = instruction(state)
    return replay(
        state,
        [
            CupSet(due.cup_c),
            SpecimenLoaded(specimen, due.specimen_ml, load_c),
            RampStarted(load_c, automatic),
        ],
    )


def applied(state, *sights):
    return replay(state, [IgniterApplied(cup_c, eye) for cup_c, eye in sights])


@pytest.mark.parametrize(("flash_c", "valid"), [(74, False), (75, True), (85, True), (86, False)])
def test_a_flash_counts_18_to_28_above_the_first_application(flash_c, valid):
    state = running(start("d93-a", 57, 80), automatic=True)
    state = advance(state, IgniterApplied(flash_c, FLASH))
    found = outcome(state)
    if valid:
        assert (found.kind, found.observed_cup_c) == ("flash point", flash_c)
    else:
        assert found is None
        due = instruction(state)
        assert (due.action, due.cup_c, due.specimen) == ("set cup", flash_c - 23, 2)
        assert "approximate" in due.why


def test_looking_for_a_volatile_contaminant_the_window_may_be_ignored():
    state = running(start("d93-a", 57, 80, seeks_volatile=True), automatic=True)
    found = outcome(advance(state, IgniterApplied(62, FLASH)))
    assert found.observed_cup_c == 62
    assert any("may be ignored" in text for text in found.warnings)


@pytest.mark.parametrize("seeks_volatile", [False, True])
def test_a_flash_at_the_first_application_never_counts(seeks_volatile):
    state = running(start("d93-a", 57, 80, seeks_volatile=seeks_volatile))
    state = applied(state, (57, FLASH))
    assert outcome(state) is None
    assert instruction(state).cup_c == 34


def test_where_no_lower_start_is_possible_the_value_stays_approximate():
    state = start("d93-a", 30, 60, apparatus_low_cup_c=30.0)
    found = outcome(follow(state, flashes_from(42.5)))
    assert (found.kind, found.confirmed, found.observed_cup_c) == ("flash point", False, 43)
    assert any("Approximate" in text for text in found.warnings)


def test_above_an_expected_130_safety_applications_come_first_and_are_not_the_first():
    state = running(start("d93-a", 137, 160), load_c=20.0)
    assert instruction(state).cup_c == 30
    assert "Safety" in instruction(state).why
    state = applied(state, (30, NO_FLASH), (137, NO_FLASH))
    assert instruction(state).cup_c == 139
    below = running(start("d93-a", 137, 160), load_c=20.0)
    below = applied(below, (30, NO_FLASH), (40, FLASH))
    assert outcome(below) is None
    assert instruction(below).cup_c == 17


def test_tag_is_loaded_colder_than_its_first_application_and_checks_its_rate():
    state = start("d56", 45, 50)
    due = instruction(state)
    state = advance(state, CupSet(45.0))
    assert instruction(state).cup_c == 40  # at least 10 below the expected
    with pytest.raises(Refused, match="40 °C or below"):
        advance(state, SpecimenLoaded(1, 50.0, 41.0))
    with pytest.raises(Refused, match="50 mL"):
        advance(state, SpecimenLoaded(1, 49.0, 40.0))
    state = replay(state, [SpecimenLoaded(1, 50.0, 40.0), RampStarted(40.0, automatic=False)])
    assert due.cup_c == instruction(state).cup_c == 45
    state = advance(applied(state, (45, NO_FLASH)), RateChecked(1.0))
    found = outcome(applied(state, (45.5, FLASH)))
    assert found.observed_cup_c == 45.5
    assert any("checked 1 times; the method asks 2" in text for text in found.deviations)


def test_what_is_loaded_too_warm_for_want_of_cooling_is_a_deviation():
    state = start("d56", 25, 30, apparatus_low_cup_c=22.0)
    state = running(state, load_c=22.0)
    found = outcome(applied(state, (25, NO_FLASH), (25.5, FLASH)))
    assert any("asks 20 °C or colder" in text for text in found.deviations)


def test_the_rate_of_a_pensky_martens_cup_is_held_against_its_window():
    state = advance(running(start("d93-b", 57, 80), automatic=True), RateChecked(2.0))
    found = outcome(advance(state, IgniterApplied(80, FLASH)))
    assert any("heated at 2 °C/min" in text for text in found.deviations)
    with pytest.raises(Refused, match="No ramp"):
        advance(start("d93-b", 57, 80), RateChecked(1.3))


@pytest.mark.parametrize("identifier", ["d93-c", "iso-2719-c", "d6450", "d7094"])
def test_automatic_methods_are_not_worked_by_hand(identifier):
    state = start(identifier, 100, 124)
    due = instruction(state)
    state = replay(state, [CupSet(100), SpecimenLoaded(1, due.specimen_ml, 20)])
    with pytest.raises(Refused, match="automatic"):
        advance(state, RampStarted(20, automatic=False))


def test_a_continuously_closed_cup_is_called_by_its_pressure_alone():
    state = running(start("d6450", 42, 60), automatic=True)
    assert "20 kPa" in instruction(state).why
    found = outcome(advance(state, IgniterApplied(60, NO_FLASH, detector=True)))
    assert (found.kind, found.observed_cup_c) == ("flash point", 60)


def test_a_bath_goes_up_half_a_degree_at_a_time_with_one_specimen():
    state = running(start("iso-1523", 25, 30), load_c=20.0)
    state = follow(state, flashes_from(26.2))
    found = outcome(state)
    assert (found.observed_cup_c, found.highest_no_flash_cup_c) == (26.5, 26.0)
    assert len(found.determinations) == 1


def test_a_cup_filled_to_a_mark_is_not_refused_for_its_volume():
    state = advance(start("iso-13736", 20, 29), CupSet(20))
    assert "gauge point" in instruction(state).why
    assert advance(state, SpecimenLoaded(1, 75.0, 10.0)).moves
