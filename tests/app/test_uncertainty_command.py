"""`closedcup uncertainty`: from a file or a result on record to one statement and a picture."""

import json
from decimal import Decimal
from math import sqrt

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results.results import issue_result
from closedcup.app.usecases.uncertainty import proficiency
from closedcup.app.usecases.uncertainty.proficiency import Sent
from closedcup.laboratory import VerificationConditions
from closedcup.quantities import parse_pressure, parse_temperature

BUDGET = """
title = "corrected flash point"
unit = "°C"
from_above = 0.9
model = "cup + slope * (101.3 - pressure)"

[[input]]
name = "cup"
estimate = 60.0
uncertainty = 0.5
degrees_of_freedom = 9

[[input]]
name = "slope"
estimate = 0.25
half_width = 0.05

[[input]]
name = "pressure"
estimate = 95.3
expanded = 0.2
coverage_factor = 2
"""


@pytest.fixture
def budget(tmp_path):
    def write(text=BUDGET):
        path = tmp_path / "budget.toml"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def test_a_budget_file_gives_both_ways_side_by_side(command, budget, tmp_path):
    picture = tmp_path / "contributions.svg"
    status, out, err = command("uncertainty", budget(), "--json", "--picture", str(picture))
    answer = json.loads(out)
    assert (status, err) == (0, "")
    expected = sqrt(0.5**2 + (6 * 0.05) ** 2 / 3 + (0.25 * 0.1) ** 2)
    assert answer["estimate"] == pytest.approx(61.5)
    assert answer["standard_uncertainty"] == pytest.approx(expected, rel=1e-6)
    assert answer["text"].startswith("61.5 ± 1.2 °C")
    drawn = answer["monte_carlo"]
    assert drawn["standard_uncertainty"] == pytest.approx(
        sqrt(0.5**2 * 9 / 7 + (6 * 0.05) ** 2 / 3 + (0.25 * 0.1) ** 2), rel=0.01
    )
    assert "cup" in picture.read_text(encoding="utf-8")
    assert "missing" in answer["from_above"][0]["reconciled"]


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        ("uncertainty = 0.5", "", "uncertainty-unclear"),
        ("uncertainty = 0.5", "uncertainty = 0.5\nhalf_width = 1", "uncertainty-unclear"),
        ("uncertainty = 0.5", 'uncertainty = "0.5 degC"', "not-a-number"),
        ("uncertainty = 0.5", "uncertainty = -0.5", "uncertainty"),
        ('model = "cup +', 'model = "cap +', "formula"),
        ('model = "cup +', 'model = "open(cup) +', "formula"),
        ('model = "cup +', 'model = "cup.real +', "formula"),
        ("coverage_factor = 2", "", "not-a-number"),
        ('name = "slope"', 'name = "cup"', "input-twice"),
        ("half_width = 0.05", 'half_width = 0.05\ndistribution = "flat"', "half-width"),
        ("unit", "unit = [", "file-unreadable"),
        (
            "[[input]]",
            '[[correlation]]\nbetween = ["cup", "lid"]\ncoefficient = 0.5\n[[input]]',
            "correlation",
        ),
        (
            "[[input]]",
            '[[correlation]]\nbetween = ["cup", "slope"]\ncoefficient = 2\n[[input]]',
            "correlation",
        ),
    ],
)
def test_a_bad_budget_is_refused_in_words(command, budget, old, new, kind):
    status, out, _ = command("uncertainty", budget(BUDGET.replace(old, new, 1)), "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, kind)


def test_a_budget_without_uncertainty_is_refused(command, budget):
    text = 'unit = "°C"\n[[input]]\nname = "cup"\nestimate = 60\nuncertainty = 0\n'
    status, out, _ = command("uncertainty", budget(text), "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (3, "no-uncertainty")


@pytest.fixture
def result(opened, request_test, follow, clock):
    for _ in range(5):
        clock.forward(days=1)
        typed = (parse_temperature("49.9 degC"), parse_temperature("50.1 degC"))
        verifying.verify_apparatus(opened, "SC-1", "RM-1", typed)
    test = request_test()
    pressure = parse_pressure("84.5 kPa")
    planning.make_plan(opened, test.id, "SC-1", pressure)
    series = beginning.begin_series(opened, test.id, "SC-1", pressure, pressure_kind="station")
    follow(series.id, 28.3)
    return issue_result(opened, test.id)


def test_a_result_on_record_has_a_budget(command, result, tmp_path):
    calibration = tmp_path / "probe.csv"
    calibration.write_text(
        "reading_c,correction_c\n0,0.1\n20,0.1\n40,0.2\n60,0.1\n", encoding="utf-8"
    )
    words = ["uncertainty", result.id, "--json", "--trials", "20000"]
    _, out, _ = command(*words)
    answer = json.loads(out)
    assert answer["estimate"] == pytest.approx(result.corrected_c)
    assert {one["name"] for one in answer["inputs"]} >= {"cup", "pressure", "step", "repeatability"}
    assert any("slope" in line for line in answer["missing"])
    assert [one["what"][:3] for one in answer["from_above"]] == ["the", "5 v"]
    _, out, _ = command(
        *words, "--slope", "0.05 degC", "--probe-calibration", str(calibration),
        "--operator", "0.2 degC", "--barometer", "0.1 kPa",
    )  # fmt: skip
    fuller = json.loads(out)
    assert fuller["standard_uncertainty"] > answer["standard_uncertainty"]
    assert not any("slope" in line for line in fuller["missing"])


CORRELATED = (
    BUDGET.replace("degrees_of_freedom = 9\n", "")
    + """
[[correlation]]
between = ["cup", "pressure"]
coefficient = -0.5
"""
)


def test_correlated_inputs_enter_both_ways(command, budget):
    answer = json.loads(command("uncertainty", budget(CORRELATED), "--json")[1])
    parts = {one["name"]: one["contribution"] for one in answer["inputs"]}
    apart = sum(part**2 for part in parts.values())
    both = apart - 2 * 0.5 * parts["cup"] * parts["pressure"]
    assert answer["standard_uncertainty"] == pytest.approx(sqrt(both), rel=1e-6)
    assert answer["monte_carlo"]["standard_uncertainty"] == pytest.approx(sqrt(both), rel=0.01)
    assert answer["correlations"] == [{"between": ["cup", "pressure"], "coefficient": -0.5}]
    assert "cup and pressure: -0.5" in command("uncertainty", budget(CORRELATED))[1]


def test_uncertainties_on_record_enter_the_budget_and_say_what_they_rest_on(command, result):
    words = ["uncertainty", result.id, "--json", "--trials", "20000"]
    before = json.loads(command(*words)[1])
    stated = [
        (["barometer", "0.2 kPa", "--shape", "half-width"], "pressure", 0.2 / sqrt(3)),
        (["slope", "0.05 degC", "--shape", "half-width"], "slope", 0.05 / sqrt(3)),
        (["operator", "0.3 degC", "--freedom", "5"], "operator", 0.3),
        (["volume", "0.1 degC", "--apparatus", "SC-1"], "volume", 0.1),
        (["probe", "0.2 degF"], "probe", 0.2 / 1.8),
    ]
    for line, _, _ in stated:
        assert command("state-uncertainty", *line, "--basis", "study 7")[0] == 0
    after = json.loads(command(*words)[1])
    inputs = {one["name"]: one["standard_uncertainty"] for one in after["inputs"]}
    for _, name, u in stated:
        assert inputs[name] == pytest.approx(u)
    assert len(after["missing"]) < len(before["missing"])
    assert sum("study 7" in note for note in after["notes"]) == len(stated)
    listed = json.loads(command("state-uncertainty", "--json")[1])
    assert {one["source"] for one in listed} == {line[0] for line, _, _ in stated}
    for bad in (["lid", "1 degC"], ["volume", "-1 degC"], ["volume", "1 degC", "--shape", "k2"]):
        assert command("state-uncertainty", *bad, "--basis", "x")[0] == 2
    assert command("state-uncertainty", "volume", "1 degC")[0] == 2


def test_operators_and_rounds_on_record_are_used(opened, command, result, clock):
    for operator, value in (("at", 50.4), ("bw", 49.0), ("at", 50.5), ("bw", 49.2)):
        clock.forward(days=1)
        verifying.verify_apparatus(
            opened,
            "SC-1",
            "RM-1",
            (parse_temperature(f"{value} degC"),),
            made_under=VerificationConditions(operator=operator),
        )
    for name, sent in enumerate(("28.1", "28.9", "28.4", "29.3", "27.8"), start=1):
        proficiency.record_result(
            opened,
            Sent(
                round=str(name),
                held_on="2026-01-15",
                method="d3828-b",
                result_c=Decimal(sent),
                assigned_c=Decimal("28.5"),
                deviation_c=Decimal("0.9"),
                assigned_uncertainty_c=Decimal("0.1"),
            ),
        )
    answer = json.loads(command("uncertainty", result.id, "--json", "--trials", "20000")[1])
    operator = next(one for one in answer["inputs"] if one["name"] == "operator")
    assert 0.4 < operator["standard_uncertainty"] < 1
    assert any("2 operators" in note for note in answer["notes"])
    above = [one["what"] for one in answer["from_above"]]
    assert any(words.startswith("5 results of proficiency rounds") for words in above)
    assert all(one["reconciled"] for one in answer["from_above"])


def test_calibration_points_on_record_give_the_probe_its_uncertainty(command, result, tmp_path):
    points = tmp_path / "probe.csv"
    points.write_text("reading_c,correction_c\n0,0.1\n20,0.1\n40,0.2\n60,0.1\n", encoding="utf-8")
    check = ["probe-check", "SC-1", "--correction", "0.1 degC", "--certificate", "T-7"]
    assert command(*check, "--calibration", str(points))[0] == 0
    words = ["uncertainty", result.id, "--json", "--trials", "20000"]
    answer = json.loads(command(*words)[1])
    probe = next(one for one in answer["inputs"] if one["name"] == "probe")
    assert 0 < probe["standard_uncertainty"] < 0.1
    assert probe["degrees_of_freedom"] == 2
    assert any("4 calibration points" in note for note in answer["notes"])
    given = json.loads(command(*words, "--probe-calibration", str(points))[1])
    assert given["standard_uncertainty"] == pytest.approx(answer["standard_uncertainty"])
    points.write_text("reading_c,correction_c\n0,0.1\n20,0.1\n", encoding="utf-8")
    assert command(*check, "--calibration", str(points))[0] == 3
