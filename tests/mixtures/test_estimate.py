"""The estimate as a user gets it: bounds, refusals, own values, and steps that re-derive it."""

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closedcup.errors import InputError, Refused
from closedcup.mixtures import blend, estimate

NAMES = ("ethanol", "octane", "toluene", "butanone", "water", "1-butanol", "hexadecane", "methanol")


@st.composite
def declared(draw):
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True))
    amounts = [draw(st.floats(0.05, 1)) for _ in names]
    basis = draw(st.sampled_from(["mole", "mass", "volume"]))
    return blend(zip(names, amounts, strict=True), basis=basis, normalise=True)


@settings(max_examples=60, deadline=None)
@given(declared(), st.floats(70, 105))
def test_interval_holds_the_answer_and_steps_re_derive_it(made, kpa):
    try:
        found = estimate(made, pressure_kpa=kpa)
    except Refused as refused:
        assert refused.kind == "no-flash"  # noqa: PT017 - some of these boil first
        return
    assert found.low_c < found.flash_c < found.high_c
    step = next(step for step in found.steps if step["step"] == "sum")
    terms = [
        term["mole_fraction"] * term["gamma"] * term["vapour_pressure_kpa"]
        / term["vapour_pressure_at_its_flash_point_kpa"]
        for term in step["terms"]
        if "term" in term
    ]  # fmt: skip
    assert math.isclose(math.fsum(terms), 1, abs_tol=1e-4)
    # All parts drawn together are near their sum of squares, however bent the sum is.
    squares = math.sqrt(math.fsum(part.half_width_c**2 for part in found.parts))
    assert found.high_c - found.low_c > 1.5 * squares
    assert math.isclose(found.cup_flash_c, found.flash_c - 0.25 * (101.3 - kpa))
    assert found.as_json()["components"]


def test_the_very_dilute_end_reaches_both_published_tables():
    """Ethanol at 5 % by volume: one table has 62 °C, another 81 °C."""
    found = estimate(blend(["ethanol=5 %", "water=95 %"], basis="volume"))
    assert found.low_c < 62
    assert found.high_c > 81
    assert any("62 and 81" in text for text in found.warnings)
    less = estimate(blend(["ethanol=10 %", "water=90 %"], basis="volume"))
    assert less.high_c - less.flash_c < found.high_c - found.flash_c - 15


def test_ideal_misses_the_minimum_below_both_components():
    """Octane and ethanol flash near 4.7 °C at equal moles, 8 °C below either (Liaw 2003)."""
    made = blend(["octane=0.5", "ethanol=0.5"])
    real, ideal = estimate(made), estimate(made, activity="ideal")
    assert abs(real.flash_c - 4.7) < 2 < ideal.flash_c - 4.7
    assert ideal.high_c - ideal.low_c > 2 * (real.high_c - real.low_c)
    assert any("deal" in text for text in ideal.warnings)


@pytest.mark.parametrize(
    ("amounts", "options", "kind"),
    [
        (["water=1"], {}, "no-flash"),
        (["water=0.999", "ethanol=0.001"], {}, "no-flash"),
        (["toluene=0.5", "dichloromethane=0.5"], {}, "masking"),
        (["chlorobenzene=1"], {}, "masking"),
        (["toluene=0.5", "nitromethane=0.5"], {}, "activity-parameters-missing"),
        (["toluene=0.5", "limonene=0.5"], {}, "vapour-pressure-missing"),
    ],
)
def test_refusals_say_why(amounts, options, kind):
    with pytest.raises(Refused) as refused:
        estimate(blend(amounts), **options)
    assert refused.value.kind == kind
    assert refused.value.fix


def test_ideal_answers_where_groups_are_missing_when_asked():
    found = estimate(blend(["toluene=0.5", "nitromethane=0.5"]), activity="ideal")
    assert found.high_c - found.low_c > 30


def test_a_pure_liquid_needs_no_activity_model():
    assert estimate(blend(["nitromethane=1"])).flash_c == 35
    with pytest.raises(InputError, match="unifac, dortmund, ideal"):
        estimate(blend(["nitromethane=1"]), activity="wilson")


def test_own_value_wins_and_is_marked():
    found = estimate(blend(["decane=1"]), own_flash_c={"124-18-5": 51.25})
    assert found.flash_c == 51.25
    assert found.as_json()["sources"][0]["known"] == "user"


def test_own_value_of_a_stranger_is_an_error():
    with pytest.raises(InputError, match="not in the blend"):
        estimate(blend(["decane=1"]), own_flash_c={"64-17-5": 13.0})


def test_families_of_cups_are_kept_apart():
    """Decane: 46 in handbooks, 49.7 small scale, 52.8 Pensky–Martens; the first covers all."""
    made = blend(["decane=1"])
    handbook = estimate(made)
    small, large = (estimate(made, cup_family=cup) for cup in ("small scale", "pensky-martens"))
    assert (handbook.flash_c, small.flash_c, large.flash_c) == (46.0, 49.7, 52.8)
    assert handbook.high_c >= 52.8


def test_the_offset_between_cups_is_shared_by_all_liquids():
    """Handbook alkanes are all low against Pensky–Martens figures: the offsets do not cancel."""
    found = estimate(blend(["decane=0.5", "undecane=0.5"]))
    shared = [part.half_width_c for part in found.parts if "cups" in part.covers]
    assert len(shared) == 1
    assert 3.2 < shared[0] < 4


def test_a_family_without_a_figure_is_said():
    found = estimate(blend(["decane=0.5", "toluene=0.5"]), cup_family="small scale")
    assert any("toluene" in text and "mixed" in text for text in found.warnings)


def test_a_pure_liquid_without_vapour_pressure_still_has_its_tabulated_value():
    found = estimate(blend(["limonene=1"]), pressure_kpa=90)
    assert found.low_c < found.flash_c < found.high_c
    assert found.model_cup_flash_c is None


def test_water_rich_blends_are_wider_and_say_so():
    dilute = estimate(blend(["ethanol=0.1", "water=0.9"], basis="volume"))
    strong = estimate(blend(["ethanol=0.5", "water=0.5"], basis="volume"))
    assert dilute.high_c - dilute.low_c > strong.high_c - strong.low_c
    assert any("water" in text for text in dilute.warnings)


def test_uncertain_amounts_widen():
    made = blend(["hexane=0.02", "hexadecane=0.98"])
    sure, unsure = estimate(made), estimate(made, amount_uncertainty=0.2)
    assert unsure.high_c > sure.high_c + 1


def test_undecided_split_holds_both_answers():
    found = estimate(blend(["ethanol=0.5", "hexadecane=0.5"]))
    as_json = found.as_json()
    assert as_json["liquid_phases"] == 2
    if any("not decided" in text for text in found.warnings):
        assert found.low_c < 11.4


def test_importing_brings_no_heavy_library():
    """An estimate starts fast: no scipy, no package that only built the data."""
    code = (
        "import sys, closedcup.mixtures as m; m.estimate(m.blend(['ethanol=1']));"
        "heavy = {'scipy', 'thermo', 'chemicals'} & set(sys.modules); assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
