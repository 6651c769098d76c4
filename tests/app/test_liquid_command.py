"""`closedcup liquid` and own liquids on the command line."""

import json

import pytest

OWN = """
[[liquid]]
name = "ethanol"
flash_point_c = 13.6
half_width_c = 1.0
"""


def test_a_liquid_is_shown_source_by_source(command):
    status, out, _ = command("liquid", "pentadecane", "--json")
    answer = json.loads(out)
    assert status == 0
    assert 110 < answer["flash_point"]["value_c"] < 120
    wrong = [row for row in answer["flash_values"] if row["value_c"] == 132]
    assert wrong
    assert all("hexadecane" in row["rejected"] for row in wrong)
    assert all(row["source"] and row["known"] for row in answer["flash_values"])
    assert all(made["liquids"] > 20 for made in answer["estimates"])


def test_words_say_the_same(command):
    status, out, _ = command("liquid", "diethyl ether")
    assert status == 0
    assert "peroxide-former" in out
    assert "not a test result" in out


@pytest.mark.parametrize("name", ["own.toml", "own.csv"])
def test_own_values_win(command, tmp_path, name):
    file = tmp_path / name
    file.write_text(
        OWN if name.endswith("toml") else "name,flash_point_c,half_width_c\nethanol,13.6,1\n",
        encoding="utf-8",
    )
    _, out, _ = command("estimate", "-c", "ethanol=1", "--own", str(file), "--json")
    answer = json.loads(out)
    assert answer["flash_point_c"] == pytest.approx(13.6)
    assert {source["known"] for source in answer["sources"]} >= {"user"}


@pytest.mark.parametrize(
    "text", ["liquid = 3", "[[liquid]\n", "name,flash_point_c\nethanol,13,4\n", ""]
)
def test_a_file_that_cannot_be_read_is_named(command, tmp_path, text):
    file = tmp_path / ("own.csv" if "," in text else "own.toml")
    file.write_text(text, encoding="utf-8")
    status, _, error = command("estimate", "-c", "ethanol=1", "--own", str(file))
    assert status == 2
    assert file.name in error


def test_an_unknown_name_gets_the_nearest(command):
    status, _, error = command("liquid", "ethnol")
    assert status == 2
    assert "ethanol" in error


def test_what_the_liquid_s_own_data_say_is_shown(command):
    answer = json.loads(command("liquid", "decane", "--json")[1])
    assert answer["flash_point"]["value_c"] == 46.0
    by_apparatus = answer["flash_point_by_apparatus_c"]
    assert (by_apparatus["small scale"], by_apparatus["pensky-martens"]) == (49.7, 52.8)
    assert answer["lower_flammable_limit"]["form"] == "on record"
    assert all(made["holds_for"] for made in answer["estimates"])
    words = command("liquid", "2-undecanone")[1]
    assert "estimated; 95 %" in words
    assert "autoignition temperature: not on record" in words


def test_an_estimate_takes_a_family_of_cups_and_uncertain_amounts(command):
    def interval(*options):
        status, out, _ = command(
            "estimate", "-c", "decane=99%", "-c", "ethanol=1%", *options, "--json"
        )
        assert status == 0
        answer = json.loads(out)
        return answer["low_c"], answer["high_c"]

    low_c, high_c = interval()
    asked = interval("--cup-family", "pensky-martens")
    assert asked[0] > low_c
    uncertain = interval("--amount-uncertainty", "30 %")
    assert uncertain[1] - uncertain[0] > high_c - low_c
    status, _, errors = command("estimate", "-c", "decane=1", "--amount-uncertainty", "80 %")
    assert status == 2
    assert "nothing of a blend" in errors


def test_traces_are_estimated_with_a_wide_interval(command):
    status, out, _ = command(
        "estimate", "-c", "petrol=1%", "-c", "diesel=99%", "--basis", "volume", "--json"
    )
    answer = json.loads(out)
    assert status == 0
    assert answer["high_c"] - answer["low_c"] > 30
    status, out, _ = command("estimate", "-c", "toluene=5%", "-c", "resin=95%", "--basis", "mass")
    assert status == 0
    assert "resin" in out
    assert "not a test result" in out
