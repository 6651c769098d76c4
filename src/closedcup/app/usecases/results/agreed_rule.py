"""The decision rule of a requested test: agreed before it begins, applied when it has a result."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView
from closedcup.app.usecases.results.conforming import conformity
from closedcup.conformity import (
    Process,
    parse_rule,
    process_from_results,
    specification_of,
    spread_from_reproducibility,
)
from closedcup.errors import InputError, Refused
from closedcup.laboratory import RequestedTest, Result
from closedcup.quantities import parse_temperature


def refuse_unagreed(test: RequestedTest) -> None:
    """Raise where limits and rule cannot be applied later as they are agreed now.

    InputError for limits that make no specification, a limit without a rule and an unknown rule;
    Refused for a guard band on a flash/no-flash test and for tolerance on a safety limit.
    """
    where = f"test {test.id}"
    if not test.limits:
        return
    specification_of(test.limits)
    if not test.decision_rule:
        raise InputError(
            "decision-rule-missing",
            "A limit needs a decision rule, agreed before the test.",
            where=where,
            fix="Agree “simple” (as measured), “guarded” or “guarded 5 %” (with a guard band), or "
            "“recipient” (rejected only where failing is 95 % certain).",
        )
    rule = parse_rule(test.decision_rule, where=where)
    if test.kind == "limit" and test.second_limit is not None:
        raise InputError(
            "limits-number",
            "A flash/no-flash test answers one limit.",
            where=where,
            fix="Request one test for each limit, or a finite flash point for both.",
        )
    if test.kind == "limit" and rule.name != "simple":
        raise Refused(
            "rule-needs-a-number",
            f"A flash/no-flash test gives no number that “{rule}” could be applied to.",
            where=where,
            fix="Agree on simple acceptance, move the limit itself, or request a finite flash "
            "point.",
        )
    if test.safety_limit and rule.name == "recipient":
        raise Refused(
            "safety-limit-no-tolerance",
            "A safety limit is given no tolerance; the recipient's rule would give one.",
            where=where,
            fix="Agree on simple or guarded acceptance for a safety limit.",
        )


def conformity_of(
    result: Result, view: BenchView, process: Process | None = None
) -> dict[str, Any] | None:
    """Say whether a result meets the limits of its test; None without limit or decision."""
    test = view.test
    if not test.limits:
        return None
    if result.kind == "flash point" and result.corrected_c is not None:
        return conformity(
            specification_of(test.limits),
            parse_temperature(f"{result.corrected_c!r} degC"),
            method_id=view.method.id,
            product=view.sample.kind or None,
            rule=test.decision_rule,
            safety_limit=test.safety_limit,
            process=process,
            lookup=lambda _: view.method,  # as it was confirmed when the series began
        )
    if view.outcome is not None and view.outcome.meets_limit is not None:
        return {
            "limit": test.limits_text,
            "conforms": view.outcome.meets_limit,
            "rule": "simple acceptance: flash or no flash at the limit, as measured",
        }
    return None


def process_on_record(opened: OpenLaboratory, result: Result) -> Process | None:
    """Return how earlier released results of the same product and method spread.

    None where the product is not named, or where too few results, or too alike, tell nothing.
    """
    ledger = opened.state
    test = ledger.tests[result.test]
    product = ledger.samples[test.sample].product
    if not product or result.reproducibility_c is None:
        return None
    earlier_c = [
        other.corrected_c
        for other in ledger.results.values()
        if other.id != result.id
        and other.id not in ledger.superseded
        and other.corrected_c is not None
        and (release := ledger.releases.get(other.id)) is not None
        and release.released
        and ledger.tests[other.test].method == test.method
        and ledger.samples[ledger.tests[other.test].sample].product == product
    ]
    try:
        return process_from_results(
            earlier_c, spread_from_reproducibility(result.reproducibility_c).standard_c
        )
    except Refused:  # too little is known; the risks over many batches are then not stated
        return None
