"""Below the room's temperature: the dwell counts from the cup's recovery."""

import pytest

from closedcup.errors import Refused
from closedcup.methods import (
    CupRecovered,
    CupSet,
    FiniteAim,
    IgniterApplied,
    LimitAim,
    Observation,
    SpecimenLoaded,
    advance,
    begin,
    determinations,
    instruction,
    method,
    replay,
)
from closedcup.quantities import parse_limit


def loaded(start_cup_c):
    state = begin(
        method("d3828-b"),
        FiniteAim(),
        start_cup_c=start_cup_c,
        pressure_kpa=101.3,
        probe_correction_c=0.0,
    )
    return replay(state, [CupSet(start_cup_c), SpecimenLoaded(1, 2.0, start_cup_c)])


def test_a_cold_cup_recovers_before_its_dwell():
    state = loaded(-5.0)
    assert instruction(state).action == "await recovery"
    with pytest.raises(Refused, match="shows -3 °C and is set to -5"):
        advance(state, CupRecovered(-3.0))
    state = advance(state, CupRecovered(-4.9))
    assert instruction(state).action == "wait and apply"
    with pytest.raises(Refused, match="No cup's recovery"):
        advance(state, CupRecovered(-5.0))
    state = advance(state, IgniterApplied(-5.0, Observation.NO_FLASH, dwell_s=60))
    (made,) = determinations(state)
    assert (made.status, made.deviations) == ("valid", ())


def test_a_dwell_not_counted_from_the_recovery_counts_and_is_told():
    state = advance(loaded(-5.0), IgniterApplied(-5.0, Observation.NO_FLASH, dwell_s=60))
    (made,) = determinations(state)
    assert made.status == "valid"
    assert "not counted from the cup's recovery" in made.deviations[0]


def test_a_warm_cup_awaits_none():
    state = loaded(20.0)
    assert instruction(state).action == "wait and apply"
    with pytest.raises(Refused, match="No cup's recovery"):
        advance(state, CupRecovered(20.0))


def test_in_a_bath_at_a_limit_the_dwell_is_a_least_one():
    state = begin(
        method("iso-1516"),
        LimitAim(parse_limit("<=60 degC")),
        pressure_kpa=101.3,
        probe_correction_c=0.0,
    )
    state = replay(state, [CupSet(60.0), SpecimenLoaded(1, 79.0, 60.0)])
    assert "at least 600 s" in instruction(state).why
    statuses = {}
    for dwell_s in (540, 600, 900):
        seen = advance(state, IgniterApplied(60.0, Observation.NO_FLASH, dwell_s=dwell_s))
        (made,) = determinations(seen)
        statuses[dwell_s] = (made.status, bool(made.deviations))
    assert statuses == {540: ("void", True), 600: ("valid", False), 900: ("valid", False)}
