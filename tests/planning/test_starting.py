"""Where a test starts: by the method's rule, never above the lowest that anything points to."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import Refused
from closedcup.methods import FiniteAim, LimitAim, method
from closedcup.planning import (
    Bench,
    Contaminant,
    Expected,
    Knowledge,
    fahrenheit_suspected,
    starting_temperature,
)
from closedcup.quantities import parse_limit

SMALL, RAMP = method("d3828-b"), method("d7236")
BENCH = Bench(85.0, 0.1, apparatus_low_cup_c=-30.0, apparatus_high_cup_c=300.0, available_ml=100)
ESTIMATE = Expected(61.0, 57.0, 66.0)
corrected = st.floats(0, 150)


@settings(deadline=None)
@given(
    st.sampled_from([SMALL, RAMP]),
    st.tuples(corrected, corrected, corrected).map(sorted),
    st.lists(corrected, max_size=3),
    st.lists(corrected, max_size=2),
    st.floats(75, 105),
)
def test_never_above_the_lowest_ceiling(chosen, estimate, previous, contaminants, kpa):
    low_c, best_c, high_c = estimate
    bench = Bench(kpa, -0.3, apparatus_low_cup_c=-40.0, apparatus_high_cup_c=300.0)
    found = starting_temperature(
        chosen,
        FiniteAim(),
        Knowledge(
            "declared",
            Expected(best_c, low_c, high_c),
            previous_corrected_c=previous,
            contaminants=[Contaminant("solvent", one) for one in contaminants],
        ),
        bench,
    )
    lowest_c = min([low_c, *previous, *contaminants])
    assert found.start_cup_c <= bench.cup(lowest_c) + 1e-9 or found.start_cup_c == -40.0
    below_c = 15 if chosen is RAMP else 0
    expected_c = min(previous) if previous else best_c
    assert found.start_cup_c <= bench.cup(expected_c) - below_c + 1e-9


@pytest.mark.parametrize(
    "knowledge",
    [
        Knowledge("unknown", ESTIMATE),
        Knowledge("declared", ESTIMATE, is_waste=True),
        Knowledge("declared"),
    ],
)
def test_what_is_not_known_starts_cold_and_trusts_nothing(knowledge):
    found = starting_temperature(SMALL, FiniteAim(), knowledge, BENCH)
    assert (found.start_cup_c, found.trusts) == (-30.0, "nothing")
    assert found.expected_corrected_c is None


def test_the_ramp_starts_15_below_and_warns_of_a_volatile_contaminant():
    plain = starting_temperature(RAMP, FiniteAim(), Knowledge("measured", ESTIMATE), BENCH)
    assert plain.start_cup_c == 41.0  # 61 - 4.075 - 0.1 - 15, rounded down
    assert plain.trusts == "the measured composition"
    petrol = Knowledge("declared", ESTIMATE, contaminants=[Contaminant("petrol", -43.0)])
    found = starting_temperature(RAMP, FiniteAim(), petrol, BENCH)
    assert found.start_cup_c == -30.0
    assert any("equilibrium" in text for text in found.warnings)
    assert any("lowest start possible" in text for text in found.warnings)


def test_too_little_sample_is_said_before_it_is_used_up():
    bench = Bench(101.3, apparatus_low_cup_c=-30, available_ml=10)
    found = starting_temperature(SMALL, FiniteAim(0.5), Knowledge("declared", ESTIMATE), bench)
    assert found.sample_needed_ml > 10
    assert any("specimens" in text for text in found.warnings)


def test_degrees_fahrenheit_typed_as_celsius_are_suspected():
    text = fahrenheit_suspected(142, ESTIMATE, "An expected flash point")
    assert "was the unit °F?" in text
    assert "unit" in fahrenheit_suspected(500, ESTIMATE, "A limit")
    assert fahrenheit_suspected(70, ESTIMATE, "A limit") is None
    knowledge = Knowledge("declared", ESTIMATE, typed_expected_corrected_c=142)
    found = starting_temperature(SMALL, FiniteAim(), knowledge, BENCH)
    assert any("°F?" in text for text in found.warnings)
    assert found.start_cup_c <= 57  # still not above the estimate's lower end


def test_at_a_limit_the_method_sets_the_start_and_a_cold_specimen_is_advised():
    aim = LimitAim(parse_limit("<60 degC"))
    found = starting_temperature(method("d3828-a"), aim, Knowledge("unknown"), BENCH)
    assert found.start_cup_c == 55.7  # 59.9 - 4.075 - 0.1
    assert any("cold first" in text for text in found.warnings)


def test_no_start_is_invented_where_nothing_says_how_cold():
    with pytest.raises(Refused, match="cold a test can start"):
        starting_temperature(method("d56"), FiniteAim(), Knowledge("unknown"), Bench(101.3))
