"""The order of a day: what must come before what, for any list of tests."""

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.planning.day import DayCup, DayTest, day_order
from closedcup.planning.pace import usual_pace

CUPS = (
    DayCup("A", usual_pace()),
    DayCup("B", usual_pace(), "not verified", 50.0, verification_min=30),
)


def a_test(name, start_cup_c, **changes):
    return DayTest(f"{name}-T1", name, "A", start_cup_c, 5, 20.0, **changes)


tests_of_a_day = st.lists(
    st.builds(
        replace,
        st.just(a_test("S", 20.0)),
        apparatus=st.sampled_from("AB"),
        start_cup_c=st.integers(-20, 150).map(float),
        ready_min=st.sampled_from([0.0, 0.0, 60.0]),
        open_at_most_c=st.just(10.0),
        is_dirty=st.booleans(),
        is_begun=st.sampled_from([False, False, False, True]),
    ),
    max_size=8,
).map(
    lambda tests: [
        replace(
            one,
            test=f"T{n}",
            sample=f"S{n}",
            ready_min=0.0 if one.is_begun else one.ready_min,
        )
        for n, one in enumerate(tests)
    ]
)


@given(tests_of_a_day)
def test_every_test_comes_once_in_an_order_that_holds(tests):
    entries = day_order(tests, CUPS)
    made = [one for one in entries if one.what == "test"]
    given_by_name = {one.test: one for one in tests}
    assert sorted(one.test for one in made) == sorted(given_by_name)
    for before, after in itertools.pairwise(entries):
        assert before.begins_min <= before.ends_min <= after.begins_min + 1e-9
    order = [given_by_name[one.test] for one in made]
    begun = [one.is_begun for one in order]
    assert begun == sorted(begun, reverse=True)
    fresh = [one.is_dirty for one in order if not one.is_begun]
    assert fresh == sorted(fresh)
    for one in made:
        assert one.begins_min >= given_by_name[one.test].ready_min
    for dirty in (False, True):
        cold = [
            one.start_cup_c
            for one in order
            if not one.is_begun and one.is_dirty == dirty and one.ready_min == 0
        ]
        assert cold == sorted(cold)


@given(tests_of_a_day)
def test_verification_comes_before_any_test_and_cleaning_between_liquids(tests):
    entries = day_order(tests, CUPS)
    kinds = [one.what for one in entries if one.what != "chill"]
    used_b = any(one.apparatus == "B" for one in tests)
    assert kinds.count("verification") == used_b
    assert "verification" not in kinds[1:]
    for apparatus in "AB":
        here = [one.what for one in entries if one.apparatus == apparatus]
        for place, what in enumerate(here[1:], start=1):
            if what == "test":
                since = here[:place][::-1]
                until = next((n for n, one in enumerate(since) if one == "test"), len(since))
                assert "clean" in since[:until] or not {"test", "verification"} & set(since)


def test_low_before_high_dirty_last_with_blanks_where_something_could_carry_over():
    entries = day_order(
        [
            a_test("high", 90.0),
            a_test("waste", 10.0, is_dirty=True),
            a_test("low", 30.0),
            a_test("near", 35.0),
            a_test("waste 2", 12.0, is_dirty=True),
        ],
        CUPS,
    )
    tests = [one.sample for one in entries if one.what == "test"]
    assert tests == ["low", "near", "high", "waste", "waste 2"]
    blanks = [one.why for one in entries if one.what == "blank"]
    assert len(blanks) == 2  # before the high one, and after the first dirty one
    assert "near" in blanks[0]
    assert "dirty" in blanks[1]


def test_what_presses_comes_before_what_does_not_as_soon_as_it_is_cold_enough():
    pressing = a_test("waste", 60.0, is_dirty=True, hurry="urgent")
    warm = a_test("warm", -5.0, open_at_most_c=-10.0, ready_min=15.0, hurry="due today")
    entries = day_order([a_test("low", 30.0), pressing, warm, a_test("lower", 20.0)], CUPS)
    tests = [one for one in entries if one.what == "test"]
    assert [one.sample for one in tests][:2] == ["waste", "warm"]
    assert [one.sample for one in tests][2:] == ["lower", "low"]
    assert tests[0].why.startswith("Urgent: before what does not press.")


def test_a_volatile_sample_waits_until_it_is_cold_and_is_then_the_next():
    cold = a_test("volatile", -5.0, open_at_most_c=-10.0, ready_min=60.0)
    entries = day_order([cold, a_test("other", 40.0), a_test("third", 80.0)], CUPS)
    tests = [one for one in entries if one.what == "test"]
    assert [one.sample for one in tests] == ["other", "third", "volatile"]
    alone = day_order([cold], CUPS)
    assert [one.what for one in alone] == ["chill", "wait", "test"]
    assert alone[2].begins_min == pytest.approx(60)
    assert "-10 °C or below" in alone[2].why
    begun = day_order([replace(cold, is_chilling=True, ready_min=20.0)], CUPS)
    assert [one.what for one in begun] == ["wait", "test"]


@given(tests_of_a_day, st.integers(1, 3))
def test_analysts_and_cups_do_one_thing_at_a_time(tests, count):
    names = ["x", "y", "z"][:count]
    tests = [replace(one, others=("A", "B")) for one in tests]
    entries = day_order(tests, CUPS, names)
    made = [one.test for one in entries if one.what == "test"]
    assert sorted(made) == sorted(one.test for one in tests)
    for key in ("analyst", "apparatus"):
        for name in {getattr(one, key) for one in entries} - {""}:
            own = [one for one in entries if getattr(one, key) == name]
            for before, after in itertools.pairwise(own):
                assert before.ends_min <= after.begins_min + 1e-9
    alone = max((one.ends_min for one in day_order(tests, CUPS)), default=0.0)
    assert max((one.ends_min for one in entries), default=0.0) <= alone * 1.5 + 60


def test_two_analysts_share_the_work_and_another_cup_asks_for_another_plan():
    tests = [a_test("one", 30.0, others=("B",)), a_test("two", 31.0, others=("B",))]
    cups = (CUPS[0], DayCup("B", usual_pace()))
    alone = day_order(tests, cups)
    both = day_order(tests, cups, ["x", "y"])
    assert max(one.ends_min for one in both) < max(one.ends_min for one in alone)
    assert {(one.analyst, one.apparatus) for one in both} == {("x", "A"), ("y", "B")}
    assert "Planned for A: make the plan anew for B first" in both[-1].why


@given(tests_of_a_day)
def test_nobody_makes_a_test_that_is_not_theirs(tests):
    tests = [
        replace(one, analysts=(("x",), ("y",), ())[place % 3]) for place, one in enumerate(tests)
    ]
    made = [one for one in day_order(tests, CUPS, ["x", "y"]) if one.what == "test"]
    allowed = {one.test: one.analysts or ("x", "y") for one in tests}
    assert sorted(one.test for one in made) == sorted(allowed)
    assert all(one.analyst in allowed[one.test] for one in made)


def test_a_day_needs_an_analyst():
    with pytest.raises(ValueError, match="needs an analyst"):
        day_order([a_test("one", 30.0, analysts=("z",))], CUPS, ["x"])
    with pytest.raises(ValueError, match="needs an analyst"):
        day_order([a_test("one", 30.0)], CUPS, [])


def test_a_cup_travels_while_the_analyst_is_at_another():
    there = replace(a_test("there", 60.0), apparatus="B")
    cups = (CUPS[0], DayCup("B", usual_pace()))
    slow = day_order([replace(there, apparatus="A"), a_test("cold", 10.0)], cups)
    both = day_order([there, a_test("cold", 10.0)], cups)
    assert both[-1].ends_min < slow[-1].ends_min


def test_nothing_to_do_is_an_empty_list():
    assert day_order([], CUPS) == ()
