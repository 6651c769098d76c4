"""What is believed while a flash point is searched; the method's own next step is never moved."""

import json

import pytest

from closedcup.app.usecases.bench import beginning, benching
from closedcup.app.usecases.planning import advising, planning
from closedcup.errors import Refused
from closedcup.quantities import parse_pressure

PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture
def series(opened, request_test):
    def begin(method: str = "d3828-b") -> str:
        test = request_test(method)
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        return beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station").id

    return begin


def test_the_temperature_is_the_procedures_own(opened, series, follow):
    name = series()
    advice = advising.next_temperature(opened, name)
    assert advice["cup_c"] == benching.bench(opened, name).instruction.cup_c
    assert 0 <= advice["flash_chance"] <= 1
    assert advice["specimens_to_come"] > 1
    view = follow(name, 6.0)
    after = advising.next_temperature(opened, name)
    assert after["cup_c"] is None
    found = view.state.corrected(view.outcome.observed_cup_c)
    assert after["belief"]["low_corrected_c"] <= found <= after["belief"]["high_corrected_c"] + 1


def test_screening_is_never_a_method_result(command, series):
    status, out, _ = command("next", series(), "--screening", "--json")
    answer = json.loads(out)
    assert (status, answer["mode"], answer["is_method_result"]) == (0, "screening", False)


def test_a_ramp_is_not_searched(opened, series):
    with pytest.raises(Refused, match="not searched"):
        advising.next_temperature(opened, series("d7236"))


def test_a_free_search_starts_no_higher_than_the_plan(opened, series):
    name = series()
    start_c = float(opened.state.series[name].start_cup_c)
    assert advising.next_temperature(opened, name, screening=True)["cup_c"] <= start_c


def test_screening_of_a_suspected_sample_creeps_up(command, database):
    command("demo", "--json")
    _, out, _ = command("next", "S-0003-T1-1", "--screening", "--json")
    answer = json.loads(out)
    assert answer["belief_from"].startswith("nothing")
    assert answer["cup_c"] <= -20 + 10
