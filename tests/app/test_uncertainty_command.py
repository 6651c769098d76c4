"""`closedcup uncertainty`: from a file or a result on record to one statement and a picture."""

import json
from math import sqrt

import pytest

from closedcup.app.usecases import beginning, planning, verifying
from closedcup.app.usecases.results import issue_result
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
