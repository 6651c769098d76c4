"""What may be agreed before a test, and where the evidence of a class comes from."""

import pytest

from closedcup.app.usecases.agreed_rule import refuse_unagreed
from closedcup.app.usecases.evidence import typed_evidence, with_origin
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
