"""What metrology cannot answer is refused in words: what, where, and how to mend it."""

import json
from decimal import Decimal

import numpy as np
import pytest

from closedcup.app.usecases.apparatus import establishing
from closedcup.errors import ClosedcupError, InputError, Refused
from closedcup.laboratory import ReferenceMaterial
from closedcup.metrology import (
    algorithm_a,
    chart_individuals,
    evaluate_material,
    fit_line,
    from_history,
    q_deviation,
    qn_deviation,
    series_of,
    sn_deviation,
    univariate,
    verify,
    working_standard,
)
from closedcup.metrology.normality import anderson_darling
from closedcup.metrology.outliers import cochran, dixon, grubbs

FEW = [
    ("a chart", lambda x: chart_individuals(series_of(x))),
    ("Anderson-Darling", anderson_darling),
    ("Grubbs", grubbs),
    ("Dixon", dixon),
    ("Algorithm A", algorithm_a),
    ("Q", q_deviation),
    ("a summary", univariate),
    ("a history", from_history),
    ("a line", lambda x: fit_line(x, x)),
    ("a working standard", lambda x: working_standard(x, repeatability_c=1.0)),
    ("a round", lambda x: evaluate_material({str(n): [one] for n, one in enumerate(x)})),
]


@pytest.mark.parametrize(("what", "test"), FEW, ids=[what for what, _ in FEW])
def test_too_few_values_are_refused(what, test):
    with pytest.raises(Refused) as refused:
        test([60.0, 61.0])
    assert "2" in refused.value.what
    assert refused.value.fix


@pytest.mark.parametrize(
    "test",
    [
        lambda x: chart_individuals(series_of(x)),
        anderson_darling,
        grubbs,
        dixon,
        algorithm_a,
        q_deviation,
        qn_deviation,
        sn_deviation,
        univariate,
        lambda x: fit_line(x, np.arange(x.size)),
        lambda x: cochran(x * 0, 2),
        lambda x: evaluate_material({str(n): [one, one] for n, one in enumerate(x)}),
    ],
)
def test_no_spread_is_refused(test):
    with pytest.raises(Refused) as refused:
        test(np.full(10, 60.0))
    assert refused.value.kind == "no-spread"


@pytest.mark.parametrize("test", [grubbs, algorithm_a, anderson_darling, univariate, from_history])
def test_what_is_no_number_is_named_by_its_place(test):
    with pytest.raises(InputError, match="Value 3 is not a number"):
        test([60.0, 61.0, float("nan"), 62.0, 63.0, 64.0, 65.0, 66.0])


def test_a_verification_without_results_or_with_r_above_its_reproducibility_is_refused():
    for results, r, big_r in (([], 1.0, 2.0), ([60.0], 3.0, 2.0)):
        with pytest.raises(ClosedcupError):
            verify(results, reference_value_c=60, repeatability_c=r, reproducibility_c=big_r)


@pytest.mark.parametrize(
    ("words", "status", "kind"),
    [
        (["chart", "--value", "60 degC"], 3, "too-few-values"),
        (["chart", "--value", "60"], 2, "unit-missing"),
        (["conform", "--limit", "60 degC", "--result", "61 degC"], 2, "operator-missing"),
        (["setpoint", "--limit", "60 degC", "--pressure", "95 kPa"], 2, "operator-missing"),
        (["verify", "--apparatus", "SC-1", "--material", "OLD", "--result", "50 degC"], 3,
         "reference-material-expired"),
        (["verify", "--apparatus", "SC-1", "--material", "RM-7", "--result", "50 degC"], 2,
         "reference-material-unknown"),
        (["reference-material", "RM-9", "--liquid", "test liquid", "--lot", "1", "--method",
          "d3828-b", "--value", "55 degC", "--certificate", "C", "--expires", "2099-01-01"], 2,
         "evidence-contradictory"),
        (["proficiency-result", "1", "--on", "2026-01-01", "--method", "d3828-b",
          "--result", "60 degC", "--assigned", "60 degC", "--deviation", "0 degC"], 2,
         "deviation"),
    ],
)  # fmt: skip
def test_commands_refuse_in_words(opened, command, words, status, kind):
    establishing.receive_reference_material(
        opened,
        ReferenceMaterial(
            id="OLD",
            liquid="old liquid",
            lot="0",
            method="d3828-b",
            value_c=Decimal("49.7"),
            certificate="C-0",
            expires_on="2020-01-01",
        ),
    )
    opened.close()
    found, out, _ = command(*words, "--json")
    error = json.loads(out)["error"]
    assert (found, error["kind"]) == (status, kind)
    assert error["what"]
    assert error["fix"]
