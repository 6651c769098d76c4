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
