"""Choosing a method: scopes rule out, and each method that is not recommended says why."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.methods import (
    PRODUCTS,
    TRAITS,
    Need,
    choose,
    method,
    methods,
    parse_purpose,
    parse_trait,
)

PURPOSES = ("specification", "transport", "waste", "screening")


def chosen(**need):
    return choose(methods(), Need(**need))


def why_out(identifier, **need):
    (one,) = [one for one in chosen(**need) if one.method.id == identifier]
    assert one.state == "ruled out"
    return " ".join(one.why)


@pytest.mark.outside(source="scopes of the methods as read in catalogues", known="read")
@pytest.mark.parametrize(
    ("identifier", "says", "need"),
    [
        ("iso-13736", "water-borne", {"product": "paint", "traits": {"water-borne"}}),
        ("iso-1523", "water-borne", {"product": "paint", "traits": {"water-borne"}}),
        ("d56", "5.5 mm2/s at 40", {"viscosity_mm2_s": 5.5, "viscosity_at_c": 40.0}),
        ("d56", "9.5 mm2/s at 25", {"viscosity_mm2_s": 9.5, "viscosity_at_c": 25.0}),
        ("d56", "does not show", {"viscosity_mm2_s": 12.0, "viscosity_at_c": 20.0}),
        ("d56", "film", {"traits": {"film-forming"}}),
        ("d56", "solids", {"traits": {"suspended solids"}}),
        ("d93-a", "begins at 40", {"expected_corrected_c": 39.0}),
        ("d93-c", "begins at 60", {"product": "fame", "expected_corrected_c": 55.0}),
        ("d7236", "very volatile", {"traits": {"volatile contaminant"}}),
        ("iso-13736", "ends at 75", {"expected_corrected_c": 76.0}),
        ("d92", "open cup", {"expected_corrected_c": 150.0}),
    ],
)
def test_a_scope_rules_out(identifier, says, need):
    need = {"product": "petroleum", "purpose": "specification"} | need
    need["traits"] = frozenset(need.get("traits", ()))
    assert says in why_out(identifier, **need)


@pytest.mark.parametrize(
    ("need", "family"),
    [
        ({"product": "residual fuel", "expected_corrected_c": 90.0}, {"d93-b", "iso-2719-b"}),
        ({"product": "petroleum", "expected_corrected_c": 55.0, "named": {"d93-a"}}, {"d93-a"}),
        ({"product": "petroleum", "purpose": "transport", "at_limit": True,
          "expected_corrected_c": 60.0}, {"d3828-a", "iso-3679-a"}),
        ({"product": "solvent", "traits": {"hazardous"}, "expected_corrected_c": 60.0},
         {"d3278", "d3828-b", "iso-3679-b", "d6450", "d7236"}),
        ({"product": "petroleum", "traits": {"volatile contaminant"},
          "expected_corrected_c": 55.0}, {"d3278", "d3828-b", "iso-3679-b", "iso-1523"}),
    ],
)  # fmt: skip
def test_what_is_recommended(need, family):
    need = {"purpose": "specification", "named_by": "The specification"} | need
    for kind in ("traits", "named"):
        if kind in need:
            need[kind] = frozenset(need[kind])
    best = chosen(**need)[0]
    assert best.state == "recommended"
    assert best.method.id in family


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(PRODUCTS)),
    st.sampled_from(PURPOSES),
    st.none() | st.floats(-40, 320),
    st.frozensets(st.sampled_from(sorted(TRAITS)), max_size=3),
    st.booleans(),
    st.none() | st.floats(1, 200),
)
def test_every_method_has_a_reason_and_what_is_recommended_covers_the_sample(
    product, purpose, expected_c, traits, at_limit, available_ml
):
    choices = chosen(
        product=product,
        purpose=purpose,
        expected_corrected_c=expected_c,
        traits=traits,
        at_limit=at_limit,
        available_ml=available_ml,
    )
    assert {one.method.id for one in choices} == {one.id for one in methods()}
    assert all(one.why and all(one.why) for one in choices)
    states = [state for state, _ in itertools.groupby(one.state for one in choices)]
    assert states in (
        ["recommended", "fits", "ruled out"], ["recommended", "ruled out"], ["ruled out"],
    )  # fmt: skip
    for one in choices:
        if one.state == "ruled out":
            continue
        assert one.method.guided
        assert one.method.is_closed_cup
        if expected_c is not None:
            low, high = one.method.low_c, one.method.high_c
            assert low is None or expected_c >= low
            assert high is None or expected_c <= high
        if "hazardous" in traits and expected_c is not None:
            assert one.method.specimen_rule(product, expected_c).volume.value <= 2


def test_nothing_is_chosen_among_none():
    assert choose([method("d92")], Need("petroleum", "screening"))[0].state == "ruled out"


def test_unknown_words_list_what_there_is():
    with pytest.raises(InputError, match="screening"):
        parse_purpose("fun")
    with pytest.raises(InputError, match="halogenated"):
        parse_trait("blue")
