"""Values assigned by several laboratories, and risks over many batches."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.conformity import (
    LaboratoryResults,
    Process,
    acceptance_for_probability,
    assigned_value,
    global_risks,
    parse_specification,
    probability_of_meeting,
    probability_with_process,
    process_from_results,
)
from closedcup.errors import InputError, Refused

MINIMUM = parse_specification(">=60 degC")


def laboratories(**results):
    return [LaboratoryResults(name, tuple(values)) for name, values in results.items()]


def assigned(**results):
    return assigned_value(laboratories(**results), repeatability_c=1.0, reproducibility_c=3.0)


def test_two_that_agree_give_their_mean_and_two_that_do_not_need_a_third():
    assert assigned(A=[60.0], B=[63.0]).value_c == pytest.approx(61.5)
    with pytest.raises(Refused) as raised:
        assigned(A=[60.0], B=[63.01])
    assert raised.value.kind == "third-laboratory"


def test_a_third_that_stands_apart_is_left_out_and_named():
    found = assigned(A=[60.0], B=[61.0], C=[70.0])
    assert (found.value_c, found.left_out) == (60.5, ("C",))
    with pytest.raises(Refused, match="No value can be assigned"):
        assigned(A=[50.0], B=[60.0], C=[70.0])


def test_repeats_narrow_what_two_laboratories_may_differ_by():
    assert assigned(A=[60.0, 60.0], B=[62.0, 62.0]).allowed_c == pytest.approx((9 - 0.5) ** 0.5)


@settings(max_examples=100, deadline=None)
@given(
    values=st.lists(st.floats(59, 61), min_size=1, max_size=5),
    probability=st.floats(0.05, 0.95),
)
def test_more_laboratories_say_it_more_sharply(values, probability):
    found = assigned(**{f"L{n}": [value] for n, value in enumerate(values)})
    alone = assigned(A=[60.0])
    assert found.standard_c == pytest.approx(alone.standard_c / len(values) ** 0.5)
    moved = acceptance_for_probability(MINIMUM, found.standard_c, probability)
    assert moved.holds(60.0) is (probability >= 0.5)


@pytest.mark.parametrize(
    ("results", "kind"),
    [({}, "results-missing"), ({"A": []}, "results-missing")],
)
def test_laboratories_without_results_are_refused(results, kind):
    with pytest.raises(InputError) as raised:
        assigned(**results)
    assert raised.value.kind == kind


@settings(max_examples=30, deadline=None)
@given(
    mean_c=st.floats(50, 70),
    spread_c=st.floats(0.3, 5),
    standard_c=st.floats(0.2, 4),
    guard_c=st.floats(0, 4),
)
def test_a_guard_band_moves_risk_from_the_consumer_to_the_producer(
    mean_c, spread_c, standard_c, guard_c
):
    process = Process(mean_c, spread_c, "example")
    simple = global_risks(MINIMUM, MINIMUM, process, standard_c)
    guarded = global_risks(MINIMUM, MINIMUM.moved(guard_c), process, standard_c)
    assert guarded.consumer <= simple.consumer + 1e-9
    assert guarded.producer >= simple.producer - 1e-9
    assert 0 <= simple.consumer <= 1 - simple.conforming + 1e-9
    assert 0 <= simple.producer <= simple.conforming + 1e-9


def test_a_wide_process_says_nothing_and_a_good_one_helps():
    alone = probability_of_meeting(MINIMUM, 61.0, 1.0)
    wide = probability_with_process(MINIMUM, 61.0, 1.0, Process(61.0, 1e6, "wide"))
    good = probability_with_process(MINIMUM, 61.0, 1.0, Process(65.0, 1.0, "good"))
    assert wide == pytest.approx(alone, abs=1e-6)
    assert good > alone


def test_a_process_from_history_takes_the_tests_own_spread_out():
    results = [60.0, 64.0, 60.0, 64.0, 60.0, 64.0, 60.0, 64.0]
    found = process_from_results(results, 1.0)
    assert found.mean_c == 62.0
    assert found.standard_c == pytest.approx((32 / 7 - 1) ** 0.5)
    with pytest.raises(Refused, match="too little"):
        process_from_results(results[:7], 1.0)
    with pytest.raises(Refused, match="no more than the test itself"):
        process_from_results(results, 3.0)
