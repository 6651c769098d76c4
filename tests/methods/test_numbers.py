"""The methods' data: every number has a source, and a file that is wrong does not load."""

import pytest

from closedcup.errors import ClosedcupError, Damaged, InputError, Refused
from closedcup.methods import (
    PROCEDURES,
    method,
    methods,
    parse_product,
    precision_at,
    repeatability_c,
    reproducibility_c,
)
from closedcup.methods.catalogue import bibliography
from closedcup.methods.cautions import cautions_for
from closedcup.methods.method_file import MethodFile


@pytest.mark.parametrize("one", methods(), ids=lambda one: one.id)
def test_every_number_is_sourced_and_none_is_confirmed(one):
    assert not one.confirmed
    assert one.sources() or one.id in {"d8174", "d8175"}  # nothing of their texts was seen
    for entry in one.sources():
        bibliography().cite(entry["source"].split(",")[0])
    assert one.guided == (one.procedure in PROCEDURES)
    assert one.is_equilibrium == (one.kind == "equilibrium")


def test_all_are_guided_but_the_open_cup_and_those_whose_text_was_not_seen():
    assert {one.id for one in methods() if not one.guided} == {"d92", "d8174", "d8175"}


@pytest.mark.parametrize("one", [one for one in methods() if one.guided], ids=lambda one: one.id)
def test_a_guided_method_has_a_clause_for_every_step(one):
    steps = {"start", "specimen", "loading", "flash", "burning", "scope", "masking"}
    if one.test == "flash/no-flash":
        steps |= {"dwell", "once", "confirmation"}
    elif one.procedure == "equilibrium":
        steps |= {"dwell", "once", "reversal", "coarse", "fine", "half"}
    else:
        steps |= {"ramp", "interval", "first"}
    assert steps <= set(one.clauses)
    assert one.report


@pytest.mark.parametrize(
    ("product", "cup_c", "volume_ml", "dwell_s"),
    [
        ("petroleum", 100.0, 2.0, 60.0),
        ("petroleum", 100.1, 4.0, 120.0),
        ("fame", 150.0, 2.0, 60.0),
    ],
)
def test_specimen_and_dwell_change_at_100_in_the_cup_but_not_for_fame(
    product, cup_c, volume_ml, dwell_s
):
    rule = method("d3828-b").specimen_rule(product, cup_c)
    assert (rule.volume.value, rule.dwell.value) == (volume_ml, dwell_s)


def test_precision_jumps_at_70_and_70_belongs_below():
    small = method("d3828-b")
    assert repeatability_c(small, 70.0) == 0.5
    assert repeatability_c(small, 70.01) == pytest.approx(1.01, abs=0.005)
    assert reproducibility_c(small, 70.0) == pytest.approx(2.97)
    assert reproducibility_c(small, 70.01) == pytest.approx(3.80, abs=0.005)


@pytest.mark.parametrize(
    ("identifier", "at_c", "product"),
    [("d3828-b", 19.9, None), ("d93-a", 38, None), ("d7236", 140, None), ("d3941", 60, None),
     ("d3828-a", 60, None),     ("d3828-b", 60, "residual fuel")],
)  # fmt: skip
def test_no_precision_outside_what_is_stated(identifier, at_c, product):
    with pytest.raises(Refused) as refusal:
        precision_at(method(identifier), at_c, product)
    assert refusal.value.kind in {"outside-precision-range", "precision-not-stated"}


def test_a_method_without_reproducibility_says_so():
    assert precision_at(method("iso-2719-a"), 30, "paint").reproducibility_c is None
    with pytest.raises(Refused, match="no reproducibility"):
        reproducibility_c(method("iso-2719-a"), 30, "paint")


@pytest.mark.parametrize(
    ("typed", "hint"),
    [
        ("d3828", "d3828-a"),
        ("D93-D", "d93-a"),
        ("iso3679b", "iso-3679-b"),
        ("ISO 3680", "iso-3679-a"),
        ("ip-170", "iso-13736"),
    ],
)
def test_an_unknown_method_names_the_nearest(typed, hint):
    with pytest.raises(InputError, match=hint):
        method(typed)


def test_an_unknown_product_lists_the_kinds():
    with pytest.raises(InputError, match="petroleum"):
        parse_product("jam")


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("coarse_stepp =", "coarse_step ="),
        ('unit = "K"', 'unit = "degC"'),
        ('source = "hearsay"', 'source = "d3828-16a"'),
        ('known = "certain"', 'known = "memory"'),
        ('products = ["jam"]', 'products = ["fame"]'),
        ("tests =", "test ="),
    ],
)
def test_a_wrong_data_file_does_not_load(tmp_path, wrong, right):
    from importlib.resources import files

    text = (files("closedcup.methods") / "data" / "d3828-b.toml").read_text(encoding="utf-8")
    assert right in text
    file = tmp_path / "d3828-b.toml"
    file.write_text(text.replace(right, wrong, 1), encoding="utf-8")
    with pytest.raises(Damaged):
        MethodFile(file, bibliography()).method()


def test_cautions_follow_the_step_and_the_temperature():
    def keys(action, cup_c, **more):
        return {one.key for one in cautions_for(action, cup_c, "equilibrium", **more)}

    assert "hot-surface" in keys("load specimen", 60.0)
    assert "hot-surface" not in keys("load specimen", 59.9)
    assert "frost" in keys("load specimen", 0.0)
    assert "first-on-unknown" in keys("wait and apply", 20.0, first_application=True)
    assert "very-hot" in keys("wait and apply", 130.0)
    assert keys("stopped", 60.0) >= {"stopped", "extraction"}


def test_a_number_not_on_record_is_refused_and_not_invented():
    with pytest.raises(ClosedcupError, match="holds no"):
        method("iso-1523").number("window_low")


# What is asked of every method that the bench guide runs, besides its clauses.
EVERYWHERE = (
    "range_high",
    "least_sample",
    "chill_below_expected",
    "fill_low",
    "fill_high",
    "rounding",
    "correction_per_kpa",
)
FLASH_OR_NO_FLASH = {"scope", "specimen", "start", "loading", "dwell", "burning", "masking"}


@pytest.mark.parametrize("chosen", [one for one in methods() if one.guided], ids=lambda one: one.id)
def test_every_guided_method_has_what_is_asked_of_it(chosen):
    for name in EVERYWHERE:
        assert chosen.number(name).known
    assert chosen.specimens
    assert chosen.report
    assert chosen.editions
    assert all(each.changed for each in chosen.editions)
    if chosen.procedure == "equilibrium" or chosen.test == "flash/no-flash":
        assert all(rule.dwell for rule in chosen.specimens)
        assert set(chosen.clauses) >= FLASH_OR_NO_FLASH
    else:
        assert chosen.intervals
        assert "start_offset" in chosen.numbers
        assert "ramp_rate" in chosen.numbers or all(rule.rate for rule in chosen.intervals)
        assert {"first", "ramp", "interval"} <= set(chosen.clauses)
