"""A dispute by the method that made the result: repeats, the two that agree, the referee method."""

import sys
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from importlib import import_module
from pathlib import Path

import pytest

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.desk import samples
from closedcup.app.usecases.nonconforming import disputes
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import amending, results
from closedcup.errors import Refused
from closedcup.laboratory import Apparatus, RequestedTest, ServiceAnswer, service_checklist
from closedcup.methods import method as find_method
from closedcup.methods import repeat_rule
from closedcup.quantities import parse_pressure, parse_temperature

sys.path[:0] = [str(Path(__file__).parents[1])]
quick_records = import_module("quick_records").quick_records
PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture(autouse=True, scope="module")
def quickly() -> Iterator[None]:
    """Wait for no disk."""
    with quick_records():
        yield


@pytest.fixture
def measure(opened, sample, follow, clock):
    """Issue a result on one large sample by a method, with a liquid of a flash point."""
    answers = tuple(
        ServiceAnswer(item.id, done=True, finding="as asked") for item in service_checklist().items
    )
    establishing.register_apparatus(
        opened,
        Apparatus(
            id="LC-1",
            description="cups of several kinds",
            serial="2",
            location="bench B",
            methods=("d93-a", "d7236", "iso-1523", "d3278"),
            lowest_cup_c=Decimal(0),
            highest_cup_c=Decimal(300),
            igniter="gas flame",
        ),
    )
    establishing.put_into_service(opened, "LC-1", answers)
    own = samples.receive_sample(opened, replace(sample, id="S-9", volume_ml=Decimal(2000)))

    def run(method, true_corrected_c):
        clock.forward(minutes=5)
        number = samples.next_test_id(opened, own.id)
        test = samples.request_test(opened, RequestedTest(number, own.id, method, "finite"))
        planning.make_plan(opened, test.id, "LC-1", PRESSURE, expected=parse_temperature("55 degC"))
        for _ in range(2 if repeat_rule(find_method(method)).takes_mean else 1):
            series = beginning.begin_series(
                opened, test.id, "LC-1", PRESSURE, pressure_kind="station"
            )
            assert follow(series.id, true_corrected_c).outcome.kind == "flash point"
        return results.issue_result(opened, test.id)

    return run


def step(answer, name):
    return next(each for each in answer["steps"] if each["step"] == name)


@pytest.mark.parametrize("method", ["d93-a", "d7236"])
def test_repeats_by_a_ramp_that_never_agree_go_to_an_equilibrium_method(opened, measure, method):
    result = measure(method, 55.0)
    dispute = disputes.raise_dispute(
        opened, result.id, "ours is lower", "somebody", parse_temperature("45 degC")
    )
    assert "more than R apart" in step(dispute, "claimed value")["words"]
    for true_c, state in ((63.0, "due"), (71.0, "done")):
        measure(method, true_c)
        overview = disputes.dispute_overview(opened, dispute["id"])
        assert step(overview, "repeat")["state"] == state
    referee = step(overview, "referee")
    assert (referee["state"], "equilibrium method decides" in referee["words"]) == ("due", True)
    assert referee["next"] == "closedcup request S-9 --method d3278"
    with pytest.raises(Refused, match="equilibrium method decides"):
        disputes.settle_dispute(opened, dispute["id"], "we are right")
    last = measure("d3278", 55.0)
    referee = step(disputes.dispute_overview(opened, dispute["id"]), "referee")
    assert (referee["state"], last.statement in referee["words"]) == ("done", True)
    assert disputes.settle_dispute(opened, dispute["id"], "the referee agrees with ours")["settled"]


def test_of_three_the_two_that_agree_count_and_the_disputed_one_is_superseded(opened, measure):
    result = measure("d93-a", 55.0)
    dispute = disputes.raise_dispute(opened, result.id, "too low", "somebody")
    for _ in range(2):
        measure("d93-a", 64.0)
    repeat = step(disputes.dispute_overview(opened, dispute["id"]), "repeat")
    assert (repeat["state"], repeat["next"].split()[:3]) == (
        "due",
        ["closedcup", "supersede", result.id],
    )
    with pytest.raises(Refused, match="is superseded"):
        disputes.settle_dispute(opened, dispute["id"], "ours stands")
    amending.supersede(opened, result.id, "two repeats agree at another value")
    overview = disputes.settle_dispute(opened, dispute["id"], "the repeats are reported")
    assert {each["state"] for each in overview["steps"]} == {"done", "not needed"}


def test_of_three_the_two_that_agree_count_and_the_disputed_one_stands(opened, measure):
    result = measure("d93-a", 55.0)
    dispute = disputes.raise_dispute(opened, result.id, "too low", "somebody")
    for true_c in (64.0, 55.0):
        measure("d93-a", true_c)
    repeat = step(disputes.dispute_overview(opened, dispute["id"]), "repeat")
    assert (repeat["state"], f"{result.id} stands" in repeat["words"]) == ("done", True)
