"""What both faces show: samples, tests, series, results, apparatus, and what comes next.

Reading only; every object here is what `--json` prints.
"""

from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.verification_due import due
from closedcup.app.usecases.desk.volumes import volume_left_ml
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of_series, method_of_test
from closedcup.app.usecases.nonconforming.doubts import (
    active_hold,
    doubts_about,
    reasons_against,
    windows,
)
from closedcup.app.usecases.results.keeping_files import kept_files
from closedcup.laboratory import RequestedTest, Result, Sample
from closedcup.methods import method
from closedcup.records.ledger import Ledger
from closedcup.records.projections import SampleQuery
from closedcup.records.standing import (
    DISPOSED,
    Standing,
    first_unfinished,
    is_disposed,
    standing_of_test,
)

Answer = dict[str, Any]


_ALL: Final = SampleQuery()


def sample_list(opened: OpenLaboratory, query: SampleQuery = _ALL) -> list[Answer]:
    """Return one line for each wanted sample, the newest first."""
    ledger, rows = opened.state, opened.sample_rows(query)
    in_doubt = _perhaps_in_doubt(opened, [row.sample for row in rows])
    return [
        {
            "id": row.sample,
            "description": row.description,
            "customer": row.customer,
            "received_at": row.received_at,
            "priority": row.priority or "routine",
            "due": row.due or None,
            **(
                _standing(ledger, ledger.samples[row.sample])
                if row.sample in in_doubt
                else {"state": row.state, "next": row.next}
            ),
        }
        for row in rows
    ]


def _perhaps_in_doubt(opened: OpenLaboratory, samples: list[str]) -> set[str]:
    """Return those samples of which a result may be in doubt, so that only they are looked into."""
    open_windows = windows(opened.state)
    if not open_windows:
        return set()
    found = set()
    for sample, made in opened.made_of(samples).items():
        begun = min(each.observed_utc for each in made)
        if any(
            window.overlaps(each.about, f"{begun}Z", f"{each.observed_utc}Z")
            for each in made
            if each.noun == "result"
            for window in open_windows
        ):
            found.add(sample)
    return found


def _standing(ledger: Ledger, sample: Sample) -> Answer:
    if is_disposed(ledger, sample.id):
        return DISPOSED._asdict()
    tests = [_test_standing(ledger, each) for each in ledger.tests_of(sample.id)]
    return first_unfinished(tests)._asdict()


def _test_standing(ledger: Ledger, test: RequestedTest) -> Standing:
    """Return where a test stands; a released result that is in doubt since is to be reviewed."""
    standing, result = standing_of_test(ledger, test), ledger.result_of(test.id)
    if result is not None and _is_released(ledger, result) and doubts_about(ledger, result):
        return Standing("to be reviewed", f"let-stand {result.id}")
    return standing


def _is_released(ledger: Ledger, result: Result) -> bool:
    release = ledger.releases.get(result.id)
    return release is not None and release.released


def sample_overview(opened: OpenLaboratory, sample_id: str) -> Answer:
    """Return a sample with its tests."""
    ledger = opened.state
    sample = find(ledger.samples, sample_id, "sample")
    composition = sample.composition
    return {
        "id": sample.id,
        "description": sample.description,
        "customer": sample.customer,
        "customer_contact": sample.customer_contact,
        "received_at": sample.received_at,
        "condition": sample.condition,
        "container": sample.container,
        "fill_percent": None if sample.fill_percent is None else float(sample.fill_percent),
        "arrived_c": None if sample.arrived_c is None else float(sample.arrived_c),
        "kind": sample.kind,
        "product": sample.product,
        "is_waste": sample.is_waste,
        "suspected": list(sample.suspected),
        "hazards": list(sample.hazards),
        "history": [
            {"corrected_c": float(past.corrected_c), "what": past.what} for past in sample.history
        ],
        "outside_results": [
            {
                "id": each.id,
                "corrected_c": float(each.corrected_c),
                "given": each.given,
                "method": each.method,
                "laboratory": each.laboratory,
                "tested_on": each.tested_on,
            }
            for each in ledger.outside_results_of(sample_id)
        ],
        "composition": {
            "trust": composition.trust,
            "basis": composition.basis,
            "components": [
                {"name": part.name, "fraction": str(part.fraction)}
                for part in composition.components
            ],
        },
        "evidence": [
            {
                "name": each.name,
                "value": each.value,
                "method": each.method,
                "determined_on": each.determined_on,
            }
            for each in ledger.evidence.get(sample_id, ())
        ],
        "volume_ml": float(sample.volume_ml),
        "volume_left_ml": volume_left_ml(ledger, sample),
        **_standing(ledger, sample),
        "tests": [test_overview(opened, test.id) for test in ledger.tests_of(sample_id)],
    }


def asked_words(test: RequestedTest) -> str:
    """Say what a test asks."""
    if test.kind == "limit":
        return f"flash/no-flash at {test.limit}"
    named = "safety limit" if test.safety_limit else "limit"
    limit = f", {named} {test.limits_text}" if test.limits else ""
    heated = bool(method(test.method).intervals)  # its step is the interval, the method's own
    step = "" if heated else f", last step {test.step_c:g} °C"
    return f"finite flash point{step}{limit}"


def test_overview(opened: OpenLaboratory, test_id: str) -> Answer:
    """Return a test with its plan, its series, its result and its report."""
    ledger = opened.state
    test = find(ledger.tests, test_id, "test")
    plan, review = ledger.plans.get(test_id), ledger.reviews.get(test_id)
    result = ledger.result_of(test_id)
    report = None if result is None else ledger.report_on(result.id)
    return {
        "id": test.id,
        "sample": test.sample,
        "method": test.method,
        "confirmed": method_of_test(ledger, test.id).confirmed,
        "kind": test.kind,
        "asked": asked_words(test),
        "limit": test.limits_text or None,
        "safety_limit": test.safety_limit,
        "decision_rule": test.decision_rule,
        **_test_standing(ledger, test)._asdict(),
        "plan": None
        if plan is None
        else {
            **plan.start,
            "estimate": plan.estimate,
            "estimate_refused": plan.estimate_refused,
            "hazards": list(plan.hazards),
            "decision": plan.decision,
        },
        "review": None
        if review is None
        else {
            "reviewer": review.reviewer,
            "proceed": review.proceed,
            "conditions": review.conditions,
        },
        "series": [series.id for series in ledger.series_of(test_id)],
        "result": None if result is None else result_overview(opened, result.id),
        "report": None if report is None else report.number,
        "replaces": None if report is None else report.replaces or None,
        "superseded": _superseded(ledger, test_id),
    }


def _superseded(ledger: Ledger, test: str) -> list[Answer]:
    """Return the results of a test that no longer count, with their reports, oldest first."""
    rows = []
    for result in ledger.results_of(test):
        if (why := ledger.superseded.get(result.id)) is not None:
            report = ledger.report_on(result.id)
            rows.append(
                {
                    "result": result.id,
                    "statement": result.statement,
                    "reason": why.reason,
                    "told": list(why.told),
                    "superseded_at": why.superseded_at,
                    "report": None if report is None else report.number,
                    "replaced_by": None if report is None else ledger.replaced_by(report.number),
                }
            )
    return rows


def result_overview(opened: OpenLaboratory, result_id: str) -> Answer:
    """Return a result with its chain, its classification and what still holds it."""
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    series = ledger.series[result.series]
    classified, release = ledger.classified.get(result_id), ledger.releases.get(result_id)
    state = ledger.apparatus_state(series.apparatus, ledger.tests[result.test].method)
    return {
        **_result_facts(result),
        "confirmed": method_of_series(ledger, series).confirmed,
        "apparatus_state_now": str(state),
        "files": kept_files(opened, result_id),
        "released": release is not None and release.released,
        "state": _result_state(ledger, result),
        "supersedes": result.supersedes or None,
        "reasons_to_hold": list(reasons_against(ledger, result)),
        "flagged_by": [doubt.id for doubt in doubts_about(ledger, result)],
        "classifications": []
        if classified is None
        else [dict(each) for each in classified.answers],
        "classification_refused": None if classified is None else classified.refused,
    }


def _result_state(ledger: Ledger, result: Result) -> str:
    if result.id in ledger.superseded:
        return "superseded"
    release = ledger.releases.get(result.id)
    if release is None or not release.released:
        return "held"
    return "to be reviewed" if doubts_about(ledger, result) else "released"


def _result_facts(result: Result) -> Answer:
    return {
        "id": result.id,
        "test": result.test,
        "series": result.series,
        "kind": result.kind,
        "statement": result.statement,
        "observed_cup_c": None if result.observed_cup_c is None else float(result.observed_cup_c),
        "probe_correction_c": result.probe_correction_c,
        "pressure_kpa": result.pressure_kpa,
        "pressure_correction_c": result.pressure_correction_c,
        "corrected_c": result.corrected_c,
        "reported_c": result.reported_c,
        "reported_text": result.reported_text,
        "low_corrected_c": result.low_corrected_c,
        "high_corrected_c": result.high_corrected_c,
        "repeatability_c": result.repeatability_c,
        "reproducibility_c": result.reproducibility_c,
        "precision_note": result.precision_note,
        "apparatus_state": result.apparatus_state,
        "deviations": list(result.deviations),
        "warnings": list(result.warnings),
        "steps": list(result.steps),
    }


def apparatus_states(opened: OpenLaboratory) -> list[Answer]:
    """Return each apparatus, once for each method that it runs, with its state for that method."""
    ledger = opened.state
    rows = []
    for apparatus in ledger.apparatus.values():
        hold = active_hold(ledger, "apparatus", apparatus.id)
        for identifier in apparatus.methods:
            done = ledger.verifications_for(apparatus.id, identifier)
            next_due = due(ledger, apparatus.id, identifier)
            rows.append(
                {
                    "apparatus": apparatus.id,
                    "description": apparatus.description,
                    "location": apparatus.location,
                    "method": identifier,
                    "state": str(ledger.apparatus_state(apparatus.id, identifier)),
                    "hold": None if hold is None else hold.id,
                    "held_because": None if hold is None else hold.reason,
                    "verified_at": done[-1].verified_at if done else None,
                    "difference_c": done[-1].difference_c if done else None,
                    "permitted_c": done[-1].permitted_c if done else None,
                    "due_on": None if next_due is None else next_due.date().isoformat(),
                    "overdue": next_due is not None and next_due <= opened.clock(),
                }
            )
    return rows
