"""Which value repeats give, and when another determination is due."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.methods import method
from closedcup.methods.repeats import judge_repeats, parse_repeat_rule, repeat_rule

MEAN = repeat_rule(method("d3278"))
FIRST = repeat_rule(method("d93-a"))


@pytest.mark.parametrize(
    ("rule", "results_c", "limit_c", "value_c", "due"),
    [
        (MEAN, [60.0], 1.0, None, True),
        (MEAN, [60.0, 61.0], 1.0, 60.5, False),
        (MEAN, [60.0, 61.5], 1.0, None, True),
        (MEAN, [60.0, 61.5, 61.0], 1.0, 61.25, False),
        (MEAN, [60.0, 62.0, 64.0], 1.0, None, True),
        (FIRST, [60.0], 0.0, 60.0, False),
        (FIRST, [60.0, 61.5], 1.74, 60.0, False),
        (FIRST, [60.0, 62.0], 1.74, None, True),
    ],
)
def test_what_is_reported(rule, results_c, limit_c, value_c, due):
    found = judge_repeats(rule, results_c, limit_c)
    assert (found.reported_c, found.another_due) == (value_c, due)


@pytest.mark.outside(source="studies by EU test method A.9", known="read")
def test_the_eu_rule_accepts_two_runs_within_2_degrees():
    rule = repeat_rule(method("d93-a"), parse_repeat_rule("EU duplicate"))
    assert judge_repeats(rule, [60.0, 62.0], rule.limit_c).reported_c == 61.0
    assert judge_repeats(rule, [60.0, 62.1], rule.limit_c).another_due
    with pytest.raises(InputError, match="eu duplicate"):
        parse_repeat_rule("mine")


@given(st.lists(st.integers(400, 800).map(lambda tenths: tenths / 10), min_size=2, max_size=5))
def test_a_value_lies_among_the_results_and_there_is_one_or_another_is_due(results_c):
    found = judge_repeats(MEAN, results_c, 1.0)
    assert (found.reported_c is None) == found.another_due
    if found.reported_c is not None:
        assert min(results_c) <= found.reported_c <= max(results_c)
        assert sum(abs(one - found.reported_c) <= 1 + 1e-9 for one in results_c) >= 2
