"""Two limits, the rules that may be agreed, and what is refused of them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.conformity import (
    decide,
    parse_rule,
    parse_specification,
    spread_from_reproducibility,
    spread_from_uncertainty,
)
from closedcup.errors import InputError, Refused

BETWEEN = parse_specification(">=38 degC and <=60 degC")


@settings(max_examples=100, deadline=None)
@given(result_c=st.floats(20, 80), standard_c=st.floats(0.1, 5))
def test_two_limits_are_met_where_each_is_and_their_chance_is_what_is_left(result_c, standard_c):
    spread = spread_from_uncertainty(2 * standard_c)
    both = decide(result_c, BETWEEN, spread=spread)
    lower = decide(result_c, BETWEEN.lower, spread=spread)
    upper = decide(result_c, BETWEEN.upper, spread=spread)
    assert both.conforms is (lower.conforms and upper.conforms)
    assert both.probability_conforming == pytest.approx(
        lower.probability_conforming + upper.probability_conforming - 1, abs=1e-9
    )


@settings(max_examples=100, deadline=None)
@given(result_c=st.floats(50, 70), reproducibility_c=st.floats(0.5, 8))
def test_guarded_is_stricter_than_simple_and_the_recipients_rule_is_milder(
    result_c, reproducibility_c
):
    limit = parse_specification(">=60 degC")
    spread = spread_from_reproducibility(reproducibility_c)
    said = [
        decide(result_c, limit, rule=rule, spread=spread).conforms
        for rule in ("guarded", "simple", "recipient")
    ]
    assert said == sorted(said)


@settings(max_examples=100, deadline=None)
@given(percent=st.floats(0.1, 49), standard_c=st.floats(0.1, 5))
def test_a_largest_risk_is_never_exceeded(percent, standard_c):
    limit, spread = parse_specification(">=60 degC"), spread_from_uncertainty(2 * standard_c)
    rule = parse_rule(f"guarded {percent:.3f} %")
    at_limit = decide(60.0, limit, rule=rule, spread=spread).acceptance_limit_c
    barely = decide(at_limit + 1e-6, limit, rule=rule, spread=spread)
    assert barely.conforms
    assert barely.risk <= rule.largest_risk + 1e-5


def test_each_limit_keeps_its_operator_when_it_moves():
    moved = parse_specification(">38 degC, <=140 degF").moved(1.0)
    assert [limit.operator for limit in moved.limits] == [">", "<="]
    assert not moved.holds(39.0)
    assert moved.holds(59.0)


def test_narrow_limits_are_told_and_a_single_limit_is_exempt():
    spread = spread_from_reproducibility(4.0)
    assert (
        "4 R"
        in decide(
            50.0, parse_specification(">=45 and <=55 degC".replace("45", "45 degC")), spread=spread
        ).notes[0]
    )
    assert decide(62.0, parse_specification(">=60 degC"), spread=spread).notes == ()


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("60 degC", "operator-missing"),
        (">=60 degC and 70 degC", "operator-missing"),
        (">=60 degC and >=55 degC", "limits-same-side"),
        (">=60 degC and <=55 degC", "limits-crossed"),
        (">=60 degC and <=65 degC and <70 degC", "limits-number"),
        (">=60", "unit-missing"),
    ],
)
def test_limits_that_make_no_specification_are_refused(text, kind):
    with pytest.raises(InputError) as raised:
        parse_specification(text)
    assert raised.value.kind == kind
    assert raised.value.fix


@pytest.mark.parametrize("text", ["fair", "guarded 60 %", "guarded 0 %", "simple 5 %", ""])
def test_rules_that_cannot_be_agreed_are_refused(text):
    with pytest.raises(InputError):
        parse_rule(text)


def test_no_tolerance_for_safety_and_no_guard_band_without_room():
    spread = spread_from_reproducibility(4.0)
    with pytest.raises(Refused, match="no tolerance"):
        decide(
            59.0,
            parse_specification(">=60 degC"),
            rule="recipient",
            spread=spread,
            safety_limit=True,
        )
    with pytest.raises(InputError, match="leave nothing"):
        decide(50.0, parse_specification(">=48 degC and <=52 degC"), rule="guarded", spread=spread)


def test_the_words_name_chance_and_risk():
    spread = spread_from_reproducibility(2.7719)
    accepted = decide(61.0, parse_specification(">=60 degC"), spread=spread)
    assert "84.1 %" in " ".join(accepted.words)
    assert "15.9 % (the consumer's risk)" in " ".join(accepted.words)
    rejected = decide(61.0, parse_specification(">=60 degC"), rule="guarded", spread=spread)
    assert "(the producer's risk)" in " ".join(rejected.words)
