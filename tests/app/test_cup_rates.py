"""Heating and cooling of an apparatus: on record with what they rest on, else called assumed."""

import json

import pytest

from closedcup.app.usecases.apparatus import cup_rates
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import results
from closedcup.errors import InputError, Refused
from closedcup.quantities import parse_pressure

PRESSURE = parse_pressure("84.1 kPa")


@pytest.mark.usefixtures("opened")
def test_rates_are_assumed_until_they_are_noted(command):
    _, out, _ = command("cup-rates", "SC-1", "--json")
    assert json.loads(out)["rates_assumed"] is True
    words = ("cup-rates", "SC-1", "--heats", "12 degC", "--cools", "3 degC")
    assert command(*words)[0] == 2
    status, out, _ = command(*words, "--source", "stop watch, 2026-03-02", "--json")
    answer = json.loads(out)
    assert status == 0
    assert (answer["heats_c_per_min"], answer["cools_c_per_min"]) == (12, 3)
    assert (answer["rates_assumed"], answer["rates_known"]) == (False, "user")
    assert "cup heats 12" in command("history", "SC-1")[1]


def test_impossible_rates_are_refused(opened):
    with pytest.raises(InputError, match="No cup does"):
        cup_rates.note_rates(opened, "SC-1", 0, 2, "guess")


def test_the_bench_shows_how_fast_the_cup_is_at_least(opened, request_test, follow, clock):
    with pytest.raises(Refused, match="0 moves up"):
        cup_rates.rates_from_bench(opened, "SC-1")
    for true_c in (3.0, -9.0, -10.0, 20.0):
        test = request_test()
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
        follow(series.id, true_c)
        results.issue_result(opened, test.id)
    heats, cools, basis = cup_rates.rates_from_bench(opened, "SC-1")
    assert heats == pytest.approx(5)  # the cup moves 5 °C in the minute of the fixture
    assert cools >= 3
    assert "moves up" in basis
    at_c, words = cup_rates.cup_now(opened, "SC-1")
    assert "showed" in words
    clock.forward(days=1)
    assert cup_rates.cup_now(opened, "SC-1")[0] == 20 != at_c


def test_a_trace_of_the_cup_gives_its_rates(command, opened, tmp_path):
    rows = [f"{second},{25 + second / 6:.2f}" for second in range(361)]
    rows += [f"{361 + second},{85 - second / 20:.2f}" for second in range(800)]
    file = tmp_path / "cup.csv"
    file.write_text("time [s],cup [degC]\n" + "\n".join(rows))
    status, out, _ = command("cup-rates", "SC-1", "--trace", str(file), "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["heats_c_per_min"] == pytest.approx(10, abs=0.1)
    assert answer["cools_c_per_min"] == pytest.approx(3, abs=0.1)
    assert opened.state.cup_rates["SC-1"].basis.startswith("trace cup.csv")
