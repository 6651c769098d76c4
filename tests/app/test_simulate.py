"""The command that compares strategies: its keys, its picture, its progress."""

import json

import pytest


def test_simulate_prints_one_object_with_its_keys(command):
    words = ["simulate", "--spread", "3 degC", "--step", "1 degC", "--samples", "500", "--json"]
    status, out, err = command(*words)
    assert (status, err) == (0, "")
    answer = json.loads(out)
    wanted = "name mean_specimens p95_specimens mean_minutes wrong_share overshoots bound_specimens"
    for one in answer["strategies"]:
        assert set(wanted.split()) <= one.keys()
        assert one["bound_specimens"] <= one["mean_specimens"] <= one["p95_specimens"] + 1
    assert {one["mode"] for one in answer["strategies"]} == {"method", "screening"}
    assert answer["best_possible_specimens"] == pytest.approx(3.67, abs=0.01)
    assert all({"value_of", "source", "known"} <= one.keys() for one in answer["sources"])
    assert command(*words)[1] == out  # the same seed


def test_simulate_takes_differences_in_fahrenheit(command):
    words = ["--step", "1 degC", "--samples", "50", "--json"]
    _, out, _ = command("simulate", "--spread", "5.4 degF", *words)
    assert json.loads(out)["spread_c"] == pytest.approx(3.0)


def test_simulate_says_what_is_a_result_and_draws(command, tmp_path):
    picture = tmp_path / "strategies.svg"
    words = ["--spread", "1.5 degC", "--step", "0.5 degC", "--samples", "200", "--seed", "4"]
    status, out, _ = command("simulate", *words, "--picture", str(picture))
    assert status == 0
    assert "Screening finds no result of a method" in out
    drawn = picture.read_text(encoding="utf-8")
    assert drawn.startswith("<svg")
    assert "screening, adaptive" in drawn


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        (["--spread", "3", "--step", "1 degC"], "unit-missing"),
        (["--spread", "3 degC", "--step", "2 degC"], "step-unknown"),
        (["--spread", "90 degC", "--step", "1 degC"], "spread-out-of-range"),
        (["--spread", "3 degC", "--step", "1 degC", "--lapse", "0.7"], "lapse-impossible"),
        (["--spread", "3 degC", "--step", "1 degC", "--cools", "0 degC"], "rate-impossible"),
    ],
)
def test_what_cannot_be_simulated_is_refused_in_words(command, words, kind):
    status, out, _ = command("simulate", *words, "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, kind)
