"""Fuels as commands: ways with their sources, and a drop that says to start cold."""

import json

import pytest

CURVE = ["0=170 degC", "10=200 degC", "50 %=265 degC", "90=635 degF"]


def curve(*points):
    return [word for point in points for word in ("--distillation", point)]


def test_fuel(command):
    status, out, _ = command("fuel", *curve(*CURVE), "--relative-density", "0.84", "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["low_c"] < answer["flash_point_c"] < answer["high_c"]
    assert {way["way"] for way in answer["ways"]} == {one["value_of"] for one in answer["sources"]}
    assert answer["coverage"] is None
    assert "not a test result" in command("fuel", *curve(*CURVE))[1]


def test_contamination_says_start_cold(command):
    words = ["contamination", "--clean", "65 degC", "--found", "45 degC"]
    answer = json.loads(command(*words, "--json")[1])
    assert answer["contaminated"]
    assert answer["volume_fraction_high"] > 10 * answer["volume_fraction_low"]
    out = command(*words)[1]
    assert "Contaminated" in out
    assert "cold" in out
    nothing = command("contamination", "--clean", "65 degC", "--found", "63.5 degC")[1]
    assert "No contamination shown" in nothing


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        (["fuel", *curve("10:200 degC")], "curve-point"),
        (["fuel", *curve(*CURVE, "10=201 degC")], "curve-repeated"),
        (["fuel", *curve(*CURVE), "--kind", "tbp"], "curve-kind-unknown"),
        (["fuel", *curve("10=200", "50=300 degC")], "unit-missing"),
        (["contamination", "--clean", "65 degC", "--found", "45 degC", "--contaminant", "wine"],
         "contaminant-unknown"),
    ],
)  # fmt: skip
def test_refusals(command, words, kind):
    status, out, _ = command(*words, "--json")
    assert status == 2
    assert json.loads(out)["error"]["kind"] == kind
