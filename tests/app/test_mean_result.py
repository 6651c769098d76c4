"""A method that reports the mean of two determinations, each in a series of its own."""

from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.bench import beginning, benching
from closedcup.app.usecases.desk import samples
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import report_record, results
from closedcup.errors import Refused
from closedcup.laboratory import Apparatus, RequestedTest, ServiceAnswer, service_checklist
from closedcup.quantities import parse_pressure

PRESSURE = parse_pressure("84.1 kPa")


@pytest.fixture
def determine(opened, sample, follow):
    """Determine the flash point of a liquid in one more series of the same test."""
    establishing.register_apparatus(
        opened,
        Apparatus(
            id="SC-7",
            description="small cup",
            serial="7",
            location="bench C",
            methods=("d3278",),
            lowest_cup_c=Decimal(-20),
            highest_cup_c=Decimal(300),
            igniter="gas",
        ),
    )
    answers = tuple(
        ServiceAnswer(item.id, done=True, finding="as asked") for item in service_checklist().items
    )
    establishing.put_into_service(opened, "SC-7", answers)
    test = RequestedTest("T-9", sample.id, "d3278", "finite", decision_rule="")
    samples.request_test(opened, test)
    planning.make_plan(opened, test.id, "SC-7", PRESSURE)

    def one_more(true_corrected_c):
        series = beginning.begin_series(opened, "T-9", "SC-7", PRESSURE, pressure_kind="station")
        if true_corrected_c is not None:
            return follow(series.id, true_corrected_c)
        return benching.end_series(opened, series.id, "sample used up")

    return one_more


def corrected(view):
    return view.state.corrected(view.outcome.observed_cup_c)


def test_the_mean_of_two_that_agree_is_reported(opened, determine):
    first = determine(50.0)
    assert any("mean of two" in text for text in first.warnings)
    with pytest.raises(Refused, match="a second determination is due") as refused:
        results.issue_result(opened, "T-9")
    assert "closedcup begin T-9" in refused.value.fix
    second = determine(50.9)
    result = results.issue_result(opened, "T-9")
    mean_c = (corrected(first) + corrected(second)) / 2
    assert result.corrected_c == pytest.approx(mean_c)
    assert result.reported_c == pytest.approx(mean_c, abs=0.25)
    assert "mean of 2 determinations" in result.statement
    chain_c = float(result.observed_cup_c) + result.pressure_correction_c
    assert chain_c + (result.probe_correction_c or 0) == pytest.approx(result.corrected_c)
    assert result.together == ("T-9-1", "T-9-2")
    record = report_record.build_record(
        opened, result, number="1", issued_at="2026-03-02", authorised_by="bw"
    )
    made = len(first.outcome.determinations) + len(second.outcome.determinations)
    assert [one["number"] for one in record["determinations"]] == [*range(1, made + 1)]


def test_a_third_is_due_where_two_differ_too_far(opened, determine):
    determine(50.0)
    determine(55.0)
    with pytest.raises(Refused, match="a third determination is due"):
        results.issue_result(opened, "T-9")
    third = determine(55.0)
    result = results.issue_result(opened, "T-9")
    assert result.corrected_c == pytest.approx(corrected(third))


def test_where_the_sample_is_used_up_one_is_reported_and_said_to_be_one(opened, determine):
    first = determine(50.0)
    determine(None)
    result = results.issue_result(opened, "T-9")
    assert result.corrected_c == pytest.approx(corrected(first))
    assert any("this is one only" in text for text in result.deviations)
    assert any("sample used up" in text for text in result.deviations)
