"""The catalogue: names, values with sources, wrong rows that must not win, the stop list."""

from collections import Counter

import pytest

from closedcup.errors import InputError
from closedcup.mixtures import FlashValue, catalogue, consensus, find, hazards_in_words
from closedcup.mixtures.flammable_limit import lower_limit, suzuki
from closedcup.mixtures.own_liquids import NUMBERS
from closedcup.mixtures.physics_check import saturation_check
from closedcup.mixtures.tables import cite


def test_at_least_sixty_liquids_are_ready_for_a_blend():
    ready = [
        liquid
        for liquid in catalogue().values()
        if liquid.role == "flammable"
        and liquid.flash_point()
        and liquid.vapour_pressure
        and liquid.subgroups
    ]
    assert len(ready) >= 150


def test_every_value_has_a_listed_source():
    for liquid in catalogue().values():
        for value in liquid.properties.values():
            assert cite(value.source)
        for flash in liquid.flash_values:
            assert cite(flash.source)
        if liquid.vapour_pressure:
            assert cite(liquid.vapour_pressure.source)


@pytest.mark.outside(source="thermo 0.6.1, atoms of the groups", known="package")
def test_groups_add_up_to_the_molecule():
    """The atoms of the groups are the atoms of the formula, for every liquid."""
    from chemicals import nested_formula_parser
    from thermo.unifac import UFSG

    for liquid in catalogue().values():
        atoms = Counter()
        for group, count in liquid.subgroups.items():
            atoms.update({atom: n * count for atom, n in UFSG[group].atoms.items() if n})
        if atoms:
            assert atoms == nested_formula_parser(liquid.formula), liquid.name


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("MEK", "butanone"), ("Isopropyl Alcohol", "2-propanol"), ("n-decane", "decane"),
        ("64-17-5", "ethanol"), ("N,N-DIMETHYLFORMAMIDE", "N,N-dimethylformamide"),
        (" 1,2-dichloroethane ", "1,2-dichloroethane"), ("p xylene", "p-xylene"),
    ],
)  # fmt: skip
def test_names(typed, name):
    assert find(typed).name == name


@pytest.mark.parametrize(
    ("typed", "kind", "says"),
    [
        ("ethnol", "liquid-unknown", "ethanol"),
        ("xylene", "liquid-ambiguous", "106-42-3"),
        ("64-17-4", "cas-mistyped", "check digit"),
        ("50-00-0", "liquid-unknown", "not in the catalogue"),
        ("qqqq", "liquid-unknown", "CAS number"),
    ],
)
def test_names_that_do_not_fit(typed, kind, says):
    with pytest.raises(InputError, match=says) as error:
        find(typed)
    assert error.value.kind == kind


def test_every_name_finds_its_liquid_or_says_that_it_is_shared():
    shared = 0
    for liquid in catalogue().values():
        assert find(liquid.cas) is liquid
        assert find(liquid.name) is liquid
        for synonym in liquid.synonyms:
            try:
                assert find(synonym) is liquid, synonym
            except InputError as error:
                shared += 1
                assert liquid.cas in error.fix  # noqa: PT017 - an ambiguous name lists it
    assert 0 < shared < 60


@pytest.mark.parametrize(
    ("name", "low_c", "high_c"),
    [
        ("ethanol", 12, 14),  # one table says -13.1
        ("isobutanol", 27, 30),  # one says -40
        ("methyl tert-butyl ether", -30, -26),  # one says -80
        ("2,2,4-trimethylpentane", -13, -11),  # one says +4.5
        ("pentadecane", 110, 120),  # most say 132, which its vapour pressure forbids
    ],
)
def test_a_bad_row_does_not_win(name, low_c, high_c):
    assert low_c <= find(name).flash_point().value_c <= high_c


def test_flash_points_of_alkanes_rise():
    names = "pentane hexane heptane octane nonane decane undecane dodecane tridecane tetradecane"
    values = [
        find(name).flash_point().value_c for name in f"{names} pentadecane hexadecane".split()
    ]
    assert values == sorted(values)


def test_limits_with_slips_are_left_out():
    assert "lfl_percent" not in find("1-octanol").properties
    limits = [liquid.properties.get("lfl_percent") for liquid in catalogue().values()]
    assert all(limit is None or 0.2 < limit.value < 30 for limit in limits)


def flash(value_c, family, cup="unspecified", known="package"):
    return FlashValue(value_c, cup, family, family, known)


def test_repeats_of_one_family_count_once():
    rows = [flash(20, "a"), flash(30, "b"), flash(30, "b"), flash(30, "b"), flash(22, "c")]
    assert consensus(rows).value_c == 22


def test_open_cups_and_apparatus_figures_stay_out():
    rows = [flash(20, "a"), flash(40, "b", cup="open"), flash(24, "c", cup="small scale")]
    found = consensus(rows)
    assert found.value_c == 20
    assert found.to_other_cups_c == 4
    assert consensus(rows, "small scale").value_c == 24
    assert consensus(rows, "tag") is None


def test_recalled_figures_count_only_where_others_are_few():
    firm = [flash(20, "a"), flash(20, "b"), flash(20, "c")]
    recalled = [flash(30, name, known="memory") for name in "defg"]
    assert consensus(firm + recalled).value_c == 20
    assert consensus(firm[:2] + recalled).known == "memory"


def test_sources_that_disagree_widen():
    agreeing = [flash(50 + i / 2, str(i)) for i in range(6)]
    split = [flash(50, str(i)) for i in range(4)] + [flash(70, str(i)) for i in range(4, 7)]
    assert consensus(agreeing).half_width_c < 5
    assert consensus([*agreeing, flash(-3, "wrong row")]).half_width_c < 5
    assert consensus(split).half_width_c > 19
    many = [flash(50 + i / 10, str(i)) for i in range(12)]
    assert consensus(many).half_width_c < consensus(many[:6]).half_width_c
    assert consensus(many[:6]).half_width_c < consensus(many[:3]).half_width_c


def test_every_property_is_possible():
    """One table ships densities in another unit, one has a liquid boil at 2100 °C."""
    for liquid in catalogue().values():
        for name, value in liquid.properties.items():
            low, high = NUMBERS[name]
            assert low <= value.value <= high, (liquid.name, name)


def test_a_liquid_boils_above_where_it_melts():
    for liquid in catalogue().values():
        melting, boiling = (liquid.properties.get(key) for key in ("melting_c", "boiling_c"))
        if melting is not None and boiling is not None:
            assert melting.value < boiling.value, liquid.name


@pytest.mark.outside(source="chemicals 1.5.2, Suzuki_LFL", known="package")
def test_limit_by_suzuki():
    from chemicals.safety import Suzuki_LFL

    for name in ("ethanol", "octane", "toluene", "butyl acetate"):
        heat = find(name).properties["heat_of_combustion_25c_kj_mol"].value
        assert suzuki(find(name)) == pytest.approx(100 * Suzuki_LFL(-1000 * heat), rel=1e-9)


def test_a_limit_on_record_wins_and_an_estimate_says_how_far_it_may_be_off():
    recorded, estimated = lower_limit(find("toluene")), lower_limit(find("2-undecanone"))
    assert (recorded.factor_95, recorded.is_estimated) == (1.0, False)
    assert estimated.is_estimated
    assert 1.2 < estimated.factor_95 < 2.5
    assert lower_limit(find("water")) is None
    checks = [
        saturation_check(each, each.flash_point().value_c)
        for each in catalogue().values()
        if each.flash_point()
    ]
    assert sum(check is not None for check in checks) > 1200


def test_stop_list():
    def of(name):
        return {hazard.hazard for hazard in find(name).hazards}

    assert {"peroxide-former", "low-autoignition"} <= of("diethyl ether")
    assert "low-autoignition" in of("carbon disulfide")
    assert {"halogenated", "forms-hcl", "forms-phosgene"} <= of("dichloromethane")
    assert of("toluene") == set()


@pytest.mark.parametrize(
    ("words", "hazard"),
    [
        ("thinner with methyl ethyl ketone peroxide", "self-reactive"),
        ("nitrocellulose lacquer", "nitrated"),
        ("old Diethyl Ether from the store", "peroxide-former"),
        ("aerosol can", "pressurised"),
        ("CAS 594-19-4 in pentane", "pyrophoric"),
    ],
)
def test_hazards_in_a_description(words, hazard):
    assert hazard in {found.hazard for found in hazards_in_words(words)}


@pytest.mark.parametrize("words", ["under nitrogen", "varnish thinner", "diesel", "ethereal oils"])
def test_harmless_words(words):
    assert hazards_in_words(words) == ()
