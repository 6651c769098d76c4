"""A laboratory's own copy laid over a method: what differs is used and shows as the user's."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.methods import (
    Confirmation,
    FiniteAim,
    begin,
    instruction,
    method,
    methods,
    parameters,
    precision_at,
    with_confirmations,
)

WITH_NUMBERS = [one for one in methods() if parameters(one)]


def read(chosen, name, value):
    (one,) = [one for one in parameters(chosen) if one.name == name]
    return Confirmation(chosen.id, name, value, one.cited.unit, "11.1", "own edition")


@pytest.mark.parametrize("chosen", WITH_NUMBERS, ids=lambda one: one.id)
def test_confirmed_when_each_number_was_read_once_and_not_before(chosen):
    asked = parameters(chosen)
    assert len({one.name for one in asked}) == len(asked)
    same = {one.name: read(chosen, one.name, one.cited.value) for one in asked}
    done = with_confirmations(chosen, same)
    assert done.confirmed
    assert done.editions[0].name == "own edition"
    assert [one.cited.value for one in parameters(done)] == [one.cited.value for one in asked]
    assert [one.cited.known for one in parameters(done)] == [one.cited.known for one in asked]
    del same[asked[-1].name]
    assert not with_confirmations(chosen, same).confirmed


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_number_that_differs_is_the_users_and_no_other_changes(data):
    chosen = data.draw(st.sampled_from(WITH_NUMBERS))
    asked = parameters(chosen)
    one = data.draw(st.sampled_from(asked))
    value = one.cited.value + data.draw(st.integers(1, 9))
    after = parameters(with_confirmations(chosen, {one.name: read(chosen, one.name, value)}))
    for before, now in zip(asked, after, strict=True):
        if before.name == one.name:
            assert (now.cited.value, now.cited.known) == (value, "user")
            assert "own edition" in now.cited.clause
        else:
            assert now.cited.value == before.cited.value


def test_procedure_and_precision_use_what_the_own_copy_says():
    large = method("d93-a")
    own = with_confirmations(
        large,
        {name: read(large, name, value) for name, value in
         (("ramp_rate", 5.0), ("precision-1.r.factor", 0.03))},
    )  # fmt: skip
    assert precision_at(own, 60.0).repeatability_c == pytest.approx(1.8)
    assert precision_at(own, 60.0).sources()[0]["known"] == "user"
    small = method("d3828-b")
    own = with_confirmations(small, {"specimen-2.dwell": read(small, "specimen-2.dwell", 90.0)})
    state = begin(own, FiniteAim(), start_cup_c=60, pressure_kpa=101.3, probe_correction_c=0.0)
    assert instruction(state).dwell_s == 90.0
