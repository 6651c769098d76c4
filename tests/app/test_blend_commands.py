"""Lines, maps, formulation and evaporation as commands: keys, class limits, refusals, pictures."""

import json

import pytest

from closedcup.app.usecases.liquids.blending import class_limits_c


def ask(command, *words):
    status, out, err = command(*words, "--json")
    assert (status, err) == (0, ""), out
    return json.loads(out)


def test_class_limits_come_from_the_regime():
    assert class_limits_c() == [23.0, 60.0, 93.0]


def test_line(command, tmp_path):
    picture = tmp_path / "line.svg"
    answer = ask(
        command, "line", "ethanol", "water", "--basis", "volume", "--picture", str(picture)
    )
    assert [each["level_c"] for each in answer["crossings"]] == [23, 60, 93][
        : len(answer["crossings"])
    ]
    assert answer["points"][-1]["flash_point_c"] is None
    assert "not a test result" in answer["warnings"][0]
    assert picture.read_text(encoding="utf-8").startswith("<svg")


def test_map(command, tmp_path):
    picture = tmp_path / "map.svg"
    words = ["map", "ethanol", "toluene", "decane", "--steps", "20", "--picture", str(picture)]
    answer = ask(command, *words)
    assert len(answer["points"]) == 231
    levels = {each["level_c"]: each["pieces"] for each in answer["contours"]}
    assert levels[23.0]
    flash = {tuple(point["shares"]): point["flash_point_c"] for point in answer["points"]}
    for one, other in levels[23.0]:
        assert sum(one) == pytest.approx(1, abs=1e-4)
        assert sum(other) == pytest.approx(1, abs=1e-4)
    assert min(flash.values()) >= answer["lowest"]["flash_point_c"] - 1e-6
    assert picture.exists()


def test_formulate_rounds_to_the_side_that_keeps_the_limit(command):
    """A trace decides: a share rounded to a tenth of a per cent would miss the limit."""
    words = ["formulate", "-c", "hexadecane=1", "--most", "acetone", "--limit", ">=60 degC"]
    answer = ask(command, *words)
    share = answer["at_limit"]["share"]
    assert share < 0.01
    blend = ["-c", f"acetone={share!r}", "-c", f"hexadecane={1 - share!r}"]
    alone = ask(command, "estimate", *blend)
    assert 60 <= alone["flash_point_c"] < 60.02
    assert answer["at_limit"]["low_c"] == pytest.approx(alone["low_c"], abs=0.3)
    assert any("only a test decides" in warning for warning in answer["warnings"])
    for refused in ("resin 2000 g/mol=0.5", "resin=0.5"):
        status, out, _ = command(
            "formulate", "-c", "decane=0.5", "-c", refused, "--basis", "mass", "--most", "acetone",
            "--limit", ">=30 degC", "--json",
        )  # fmt: skip
        assert (status, json.loads(out)["error"]["kind"]) == (3, "resin-not-followed")


def test_formulate_keeps_the_published_margin(command):
    words = ["formulate", "-c", "ethanol=1", "--least", "water", "--limit", ">23 degC"]
    answer = ask(command, *words, "--basis", "volume")
    assert answer["margin_c"] == 5
    assert answer["at_limit"]["flash_point_c"] == pytest.approx(23, abs=0.01)
    assert answer["with_margin"]["flash_point_c"] == pytest.approx(28, abs=0.01)
    assert answer["with_margin"]["share"] > answer["at_limit"]["share"]
    assert any("halogenated" in text for text in answer["provided"])


def test_evaporate(command):
    words = ["evaporate", "-c", "acetone=0.1", "-c", "decane=0.9", "--at", "20 degC"]
    answer = ask(command, *words, "--lost", "1 %", "--lost", "5 %")
    assert [point["lost_mass_fraction"] for point in answer["points"]] == [0, 0.01, 0.05]
    assert answer["points"][2]["change_c"] > answer["points"][1]["change_c"] > 0


@pytest.mark.parametrize(
    ("words", "status", "kind"),
    [
        (["line", "ethanol", "ethanol"], 2, "component-repeated"),
        (["line", "ethanol", "water", "--basis", "weight"], 2, "basis-unknown"),
        (["line", "ethanol", "water", "--points", "1"], 2, "points-impossible"),
        (["line", "ethanol", "dichloromethane"], 3, "masking"),
        (["formulate", "-c", "decane=1", "--limit", ">=23 degC"], 2, "most-or-least"),
        (["formulate", "-c", "decane=1", "--most", "ethanol", "--limit", "<60 degC"], 2,
         "limit-from-above"),
        (["formulate", "-c", "decane=1", "--most", "ethanol", "--limit", ">=60 degC"], 3,
         "limit-not-kept"),
        (["formulate", "-c", "decane=1", "--most", "decane", "--limit", ">=20 degC"], 2,
         "nothing-to-add-to"),
        (["evaporate", "-c", "water=0.8", "-c", "1-butanol=0.2", "--at", "20 degC"], 3,
         "evaporates-as-two-liquids"),
    ],
)  # fmt: skip
def test_refusals(command, words, status, kind):
    found, out, _ = command(*words, "--json")
    assert found == status
    assert json.loads(out)["error"]["kind"] == kind


@pytest.mark.parametrize(
    "words",
    [
        ["line", "octane", "ethanol"],
        ["map", "ethanol", "toluene", "decane", "--steps", "10"],
        ["formulate", "-c", "decane=1", "--most", "ethanol", "--limit", ">=23 degC"],
        ["evaporate", "-c", "acetone=1", "--at", "20 degC"],
    ],
)
def test_for_a_person_it_says_that_it_is_calculated(command, words):
    status, out, _ = command(*words)
    assert status == 0
    assert "not a test result" in out
