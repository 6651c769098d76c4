"""The laboratory's own liquids: they win, marked user; slips are refused by name."""

import pytest

from closedcup.errors import InputError
from closedcup.mixtures import blend, estimate, find, own_liquids, own_warnings

NEW = {
    "name": "base B", "formula": "C8H16O2", "molar_mass_g_mol": 144.2, "flash_point_c": 45,
    "density_20c_kg_m3": 870, "lfl_percent": 1.0, "unifac": "1:2 2:5 22:1",
    "vapour_pressure_equation": "antoine-ln", "vapour_pressure_constants": [21.0, 3500.0, -65.0],
    "vapour_pressure_low_c": 0, "vapour_pressure_high_c": 160,
}  # fmt: skip


def test_an_own_value_wins_over_every_table_and_family_of_cups():
    own = own_liquids([{"name": "Decane", "flash_point_c": 51.2, "half_width_c": 1.0}])
    liquid = find("124-18-5", own=own)
    for cup_family in (None, "pensky-martens"):
        found = liquid.flash_point(cup_family)
        assert (found.value_c, found.half_width_c, found.known) == (51.2, 1.0, "user")
    answer = estimate(blend(["decane=1"], own=own))
    assert answer.flash_c == pytest.approx(51.2)
    assert {"value_of": "flash point of decane", "source": "the laboratory's own value",
            "known": "user"} in answer.sources  # fmt: skip
    assert find("decane").flash_point().value_c == 46  # the catalogue itself is as it was


def test_a_liquid_of_its_own_blends():
    own = own_liquids([NEW])
    answer = estimate(blend(["Base-B=50 %", "ethanol=50 %"], basis="volume", own=own))
    assert 12 < answer.flash_c < 20
    assert find("base b", own=own).vapour_pressure.known == "user"


def test_text_from_a_table_reads_as_numbers_do():
    text = {key: str(value) for key, value in NEW.items()} | {"cas": "", "boiling_c": ""}
    assert own_liquids([text]) == own_liquids([NEW])


def test_a_halogenated_liquid_of_its_own_still_masks():
    own = own_liquids([{**NEW, "formula": "C8H15ClO2"}])
    assert find("base B", own=own).role == "halogenated"


def test_an_own_value_that_breaks_the_flammable_limit_is_said():
    assert own_warnings(own_liquids([NEW])) == ()
    (said,) = own_warnings(own_liquids([{"cas": "67-56-1", "flash_point_c": 51}]))
    assert "methanol" in said


@pytest.mark.parametrize(
    ("entry", "kind"),
    [
        ({"name": "ethnol", "flash_point_c": 13}, "liquid-unknown"),
        ({"name": "xylene", "flash_point_c": 27}, "liquid-ambiguous"),
        ({"cas": "64-17-4", "flash_point_c": 13}, "cas-mistyped"),
        ({"cas": "ethanol", "flash_point_c": 13}, "cas-mistyped"),
        ({"flash_point_c": 13}, "own-liquid-nameless"),
        ({"name": "ethanol", "flash_point": 13}, "own-liquid-key"),
        ({"name": "ethanol", "flash_point_c": "13 °C"}, "own-liquid-number"),
        ({"name": "ethanol", "flash_point_c": 1300}, "own-liquid-number"),
        ({"name": "ethanol", "flash_point_c": "nan"}, "own-liquid-number"),
        ({"name": "base C", "formula": "C8H16O2"}, "own-liquid-incomplete"),
        ({**NEW, "formula": "(CH3)2CO"}, "own-liquid-formula"),
        ({**NEW, "unifac": "CH3:2"}, "own-liquid-groups"),
        ({**NEW, "vapour_pressure_constants": "21 3500"}, "own-liquid-vapour-pressure"),
        ({**NEW, "vapour_pressure_equation": ""}, "own-liquid-vapour-pressure"),
    ],
)
def test_slips_are_refused(entry, kind):
    with pytest.raises(InputError) as refused:
        own_liquids([entry])
    assert refused.value.kind == kind


def test_a_liquid_given_twice_is_refused():
    with pytest.raises(InputError, match="twice"):
        own_liquids([{"name": "ethanol", "flash_point_c": 13}, {"cas": "64-17-5"}])
