"""Acceptance limits and probabilities: symmetry, order, operators, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.conformity import decide, spread_from_reproducibility, spread_from_uncertainty
from closedcup.errors import InputError, Refused
from closedcup.quantities import parse_limit

LIMITS = st.sampled_from(["<60 degC", "<=140 degF", ">=60 degC", ">60 degC"]).map(parse_limit)
RESULTS_C = st.floats(40, 80)
SPREADS = st.floats(0.1, 8).map(spread_from_uncertainty) | st.floats(0.1, 8).map(
    spread_from_reproducibility
)


@given(limit=LIMITS, result_c=RESULTS_C, spread=SPREADS)
def test_a_guarded_yes_is_a_simple_yes_and_probable(limit, result_c, spread):
    guarded = decide(result_c, limit, rule="guarded", spread=spread)
    simple = decide(result_c, limit, spread=spread)
    assert guarded.probability_conforming == simple.probability_conforming
    if guarded.conforms:
        assert simple.conforms
        # 0.59 R is 1.6354 standard deviations, U two of them.
        assert guarded.probability_conforming >= 0.9489
    if simple.conforms:
        assert simple.probability_conforming >= 0.5 - 1e-6


@given(result_c=RESULTS_C, spread=SPREADS)
def test_an_upper_and_a_lower_limit_share_all_probability(result_c, spread):
    upper = decide(result_c, parse_limit("<=60 degC"), spread=spread)
    lower = decide(result_c, parse_limit(">60 degC"), spread=spread)
    assert upper.conforms is not lower.conforms
    total = upper.probability_conforming + lower.probability_conforming
    assert math.isclose(total, 1.0, abs_tol=1e-12)


@pytest.mark.parametrize(
    ("limit", "at_limit"),
    [("<60 degC", False), ("<=60 degC", True), (">=140 degF", True), (">60 degC", False)],
)
def test_the_operator_decides_at_the_limit_itself(limit, at_limit):
    assert decide(60.0, parse_limit(limit)).conforms is at_limit


def test_the_guard_band_moves_the_acceptance_limit_inwards():
    spread = spread_from_uncertainty(1.5)
    minimum = decide(61.0, parse_limit(">=60 degC"), rule="guarded", spread=spread)
    maximum = decide(59.0, parse_limit("<=60 degC"), rule="guarded", spread=spread)
    assert (minimum.acceptance_limit_c, maximum.acceptance_limit_c) == (61.5, 58.5)
    assert not minimum.conforms
    assert not maximum.conforms
    assert "guard band" in " ".join(minimum.notes)
    assert "61.50 °C" in minimum.rule


def test_a_safety_limit_gets_no_tolerance():
    decision = decide(59.9, parse_limit(">=60 degC"), safety_limit=True)
    assert not decision.conforms
    assert decision.acceptance_limit_c == 60.0
    assert "no tolerance" in decision.notes[0]


def test_refusals():
    with pytest.raises(Refused, match="needs an uncertainty"):
        decide(61.0, parse_limit(">=60 degC"), rule="guarded")
    with pytest.raises(InputError, match="not possible"):
        spread_from_uncertainty(0.0)
    with pytest.raises(InputError):
        decide(float("nan"), parse_limit(">=60 degC"))


def test_without_an_uncertainty_no_probability_is_given():
    decision = decide(61.0, parse_limit(">=60 degC"))
    assert decision.conforms
    assert decision.as_json()["probability_conforming"] is None
