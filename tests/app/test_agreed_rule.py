"""What may be agreed before a test, and where the evidence of a class comes from."""

from types import SimpleNamespace

import pytest

from closedcup.app.usecases.desk.evidence import typed_evidence, with_origin
from closedcup.app.usecases.results.agreed_rule import process_on_record, refuse_unagreed
from closedcup.classification import Evidence, classify_regime
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Evidence as EvidenceOnRecord
from closedcup.laboratory import RequestedTest
from closedcup.quantities import parse_limit

MINIMUM, MAXIMUM = parse_limit(">=38 degC"), parse_limit("<=60 degC")


def requested(**given):
    return RequestedTest(
        **({"id": "T", "sample": "S", "method": "d93-a", "kind": "finite"} | given)
    )


@pytest.mark.parametrize(
    "agreed",
    [
        {},
        {"limit": MINIMUM, "decision_rule": "simple", "safety_limit": True},
        {"limit": MINIMUM, "decision_rule": "guarded 5 %"},
        {"limit": MINIMUM, "second_limit": MAXIMUM, "decision_rule": "recipient"},
        {"limit": MINIMUM, "kind": "limit", "decision_rule": "simple"},
    ],
)
def test_what_can_be_applied_later_may_be_agreed(agreed):
    refuse_unagreed(requested(**agreed))


@pytest.mark.parametrize(
    ("agreed", "error", "kind"),
    [
        ({"limit": MINIMUM}, InputError, "decision-rule-missing"),
        ({"limit": MINIMUM, "decision_rule": "fair"}, InputError, "decision-rule-unknown"),
        (
            {"limit": MINIMUM, "second_limit": MINIMUM, "decision_rule": "simple"},
            InputError,
            "limits-same-side",
        ),
        (
            {"limit": MINIMUM, "second_limit": MAXIMUM, "kind": "limit", "decision_rule": "simple"},
            InputError,
            "limits-number",
        ),
        (
            {"limit": MINIMUM, "kind": "limit", "decision_rule": "guarded"},
            Refused,
            "rule-needs-a-number",
        ),
        (
            {"limit": MINIMUM, "decision_rule": "recipient", "safety_limit": True},
            Refused,
            "safety-limit-no-tolerance",
        ),
    ],
)
def test_what_cannot_be_applied_later_is_refused_before_the_test(agreed, error, kind):
    with pytest.raises(error) as raised:
        refuse_unagreed(requested(**agreed))
    assert raised.value.kind == kind
    assert raised.value.fix


def test_evidence_on_record_keeps_its_method_and_date_in_the_answer():
    evidence = Evidence(flash_c=10.0, boiling_c=78.0)
    on_record = (EvidenceOnRecord("boiling_c", "78", "ISO 3405", "2026-03-02"),)
    answer = with_origin(classify_regime(evidence, "GHS").as_json(), on_record)
    flash, boiling = answer["inputs"][0], answer["inputs"][-1]
    assert "method" not in flash
    assert (boiling["method"], boiling["determined_on"]) == ("ISO 3405", "2026-03-02")


def test_properties_are_typed_by_their_names_on_record():
    evidence = typed_evidence(flash="20 degC", properties=["class3_percent=55", "bulk=yes"])
    assert (evidence.class3_percent, evidence.bulk) == (55.0, True)
    with pytest.raises(InputError, match="given twice"):
        typed_evidence(flash="20 degC", boils="78 degC", properties=["boiling_c=80"])
    with pytest.raises(InputError) as raised:
        typed_evidence(flash="20 degC", properties=["class_3=55"])
    assert "class3_percent" in raised.value.fix


def test_a_misspelt_product_is_told_and_an_unknown_one_is_taken_as_it_is():
    with pytest.raises(InputError, match="desel"):
        typed_evidence(flash="60 degC", product="desel")
    evidence = typed_evidence(flash="60 degC", product="printing ink")
    notes = " ".join(classify_regime(evidence, "UN class 3").notes)
    assert "No rule names the product “printing ink”" in notes


def _laboratory(results_c, product="diesel"):
    """Return what `process_on_record` reads of a laboratory: released results of one product."""
    ids = [f"R{number}" for number in range(len(results_c))]
    results = {
        key: SimpleNamespace(id=key, test=key, corrected_c=c, reproducibility_c=2.772)
        for key, c in zip(ids, results_c, strict=True)
    }
    return SimpleNamespace(
        state=SimpleNamespace(
            results=results,
            superseded={},
            releases={key: SimpleNamespace(released=True) for key in ids},
            tests={key: SimpleNamespace(method="d93-a", sample=key) for key in ids},
            samples={key: SimpleNamespace(product=product) for key in ids},
        )
    )


def test_how_a_product_spreads_is_known_from_its_earlier_released_results():
    opened = _laboratory([60.0, 64.0] * 5)
    found = process_on_record(opened, opened.state.results["R0"])
    assert found.mean_c == pytest.approx(62.0, abs=0.3)
    assert "9 earlier results" in found.words
    held = opened.state.releases
    held |= {key: SimpleNamespace(released=False) for key in ("R1", "R2")}
    assert process_on_record(opened, opened.state.results["R0"]) is None


@pytest.mark.parametrize(
    ("results_c", "product"), [([62.0] * 10, "diesel"), ([60.0, 64.0] * 5, "")]
)
def test_nothing_is_said_of_a_product_that_is_not_named_or_does_not_spread(results_c, product):
    opened = _laboratory(results_c, product)
    assert process_on_record(opened, opened.state.results["R0"]) is None
