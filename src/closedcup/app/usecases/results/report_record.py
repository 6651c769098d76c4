"""Gather from the records everything that a report must say: its machine-readable record."""

from collections.abc import Mapping, Sequence
from typing import Any

from closedcup import __version__
from closedcup.app.opening import DATA_VERSION, OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView, bench
from closedcup.app.usecases.desk.customer import condition_deviations
from closedcup.app.usecases.methods.citing import in_words
from closedcup.app.usecases.people.signing import signature_facts
from closedcup.app.usecases.results.agreed_rule import conformity_of
from closedcup.app.usecases.results.classifying import regimes_shown
from closedcup.app.usecases.results.report_determinations import determinations_behind
from closedcup.app.usecases.results.report_sample import customer_supplied, omitted, sample_facts
from closedcup.app.usecases.results.results import evidence_of, evidence_on_record
from closedcup.classification import classify
from closedcup.laboratory import Result
from closedcup.methods import check_station_pressure
from closedcup.records.facts import Classified
from closedcup.records.ledger import Ledger

Facts = dict[str, Any]


def build_record(
    opened: OpenLaboratory,
    result: Result,
    *,
    number: str,
    issued_at: str,
    authorised_by: str,
    replaces: str | None = None,
    changes: str | None = None,
) -> Facts:
    """Return the record of a report on a result, sealed with the head of the chain as it is now."""
    ledger = opened.state
    view = bench(opened, result.series)
    head = opened.store.head()
    classified = ledger.classified[result.id]
    return {
        "format": "closedcup-record",
        "version": 1,
        "report": {
            "number": number,
            "title": "Test report: closed-cup flash point",
            "issued_at": issued_at,
            "issued_by": opened.by,
            "authorised_by": authorised_by,
            "seal": head.seal,
            "seal_number": head.seq,
            "replaces": replaces,
            "changes": changes,
        },
        "laboratory": _laboratory(opened),
        "customer": {"name": view.sample.customer, "contact": view.sample.customer_contact or None},
        "sample": sample_facts(view.sample),
        "test": _test(view),
        "estimate": _estimate(ledger, view),
        "plan": _plan(ledger, view),
        "apparatus": _apparatus(ledger, view, result),
        "determinations": determinations_behind(opened, result, view),
        "pressure": _pressure(opened, view),
        "result": _result(result, view, condition_deviations(ledger, view.sample)),
        "conformity": conformity_of(result, view),
        "classifications": [_classification(answer) for answer in classified.answers],
        "regimes": _regimes(opened, result, view, classified),
        "classification_refused": None
        if classified.refused is None
        else {"what": classified.refused["what"], "fix": classified.refused["fix"]},
        "evidence": [
            {
                "name": each.name,
                "value": each.value,
                "method": each.method,
                "determined_on": each.determined_on,
            }
            for each in evidence_on_record(ledger, view.sample.id)
        ],
        "signatures": signature_facts(ledger, result.id),
        "people": _people(opened, view, result, authorised_by),
        "customer_supplied": customer_supplied(view.sample),
        "omitted": omitted(view.sample),
        "sources": _sources(view),
        "program": {"version": __version__, "data": DATA_VERSION},
    }


def _laboratory(opened: OpenLaboratory) -> Facts:
    site = opened.site()
    return {
        "name": site.name,
        "address": site.address,
        "place_of_activity": site.address,
        "altitude_m": site.altitude_m,
        "contact": site.contact or None,
        "demonstration": site.demonstration,
    }


def _test(view: BenchView) -> Facts:
    test, chosen, limit = view.test, view.method, view.test.limit
    volumes = [one.volume_ml for one in view.outcome.determinations] if view.outcome else []
    return {
        "id": test.id,
        "method": chosen.id,
        "method_name": chosen.designation,
        "edition": chosen.editions[0].name if chosen.editions else None,
        "kind": test.kind,
        "limit": None
        if limit is None
        else {
            "text": test.limits_text,
            "operator": limit.operator,
            "corrected_c": limit.corrected_c,
        },
        "safety_limit": test.safety_limit,
        "step_c": _step_c(view),
        "decision_rule": test.decision_rule or None,
        "confirmed": chosen.confirmed,
        "specimen_ml": max(volumes) if volumes else view.instruction.specimen_ml,
        "igniter": view.apparatus.igniter,
    }


def _step_c(view: BenchView) -> float | None:
    """Return the last step of a finite search, or the interval near the flash on a ramp."""
    if view.test.kind != "finite":
        return None
    return view.test.step_c if view.outcome is None else view.outcome.step_c


def _estimate(ledger: Ledger, view: BenchView) -> Facts | None:
    estimate = ledger.plans[view.test.id].estimate
    if estimate is None:
        return None
    # A model is no better than a tenth of a degree; the plan in the records keeps all digits.
    shown = {key: f"{estimate[key]:.1f}" for key in ("flash_point_c", "low_c", "high_c")}
    return {**estimate, **shown, "coverage": f"{estimate['coverage']:.0%} interval, nominally"}


def _plan(ledger: Ledger, view: BenchView) -> Facts:
    plan, review = ledger.plans[view.test.id], ledger.reviews.get(view.test.id)
    return {
        "starting_cup_c": plan.start_cup_c,
        "rule": plan.start["rule"],
        "clause": plan.start["clause"],
        "trusts": plan.start["trusts"],
        "hazards": [f"{item['hazard']}: {item['consequence']}" for item in plan.hazards],
        "reviewer": None if review is None else review.reviewer,
    }


def _apparatus(ledger: Ledger, view: BenchView, result: Result) -> Facts:
    apparatus, probe = view.apparatus, view.series.probe_correction_c
    verified = next(
        (
            each
            for each in ledger.verifications.get(apparatus.id, ())
            if each.id == result.verification
        ),
        None,
    )
    return {
        "id": apparatus.id,
        "description": f"{apparatus.description}, serial {apparatus.serial}",
        "state": result.apparatus_state,
        "probe_correction_c": None if probe is None else str(probe),
        "probe_correction_text": "none on record"
        if probe is None
        else f"{probe:+} °C, {ledger.probes[apparatus.id].certificate}",
        "verification": None
        if verified is None
        else {
            "on": verified.verified_at,
            "material": ledger.materials[verified.material].liquid,
            "lot": ledger.materials[verified.material].lot,
            "mean_c": verified.mean_c,
            "reference_c": verified.reference_c,
            "difference_c": verified.difference_c,
            "limit_c": verified.permitted_c,
            "in_control": verified.in_control,
        },
    }


def _pressure(opened: OpenLaboratory, view: BenchView) -> Facts:
    pressure = view.series.pressure
    said = check_station_pressure(pressure.kpa, opened.site().altitude_m)
    return {
        "text": str(pressure),
        "kpa": pressure.kpa,
        "kind": view.series.pressure_kind,
        "altitude_check": " ".join(said) or "possible at this altitude",
    }


def _result(result: Result, view: BenchView, deviations: Sequence[str]) -> Facts:
    finite = result.kind == "flash point"
    rounding_c = view.outcome.rounding_step_c if view.outcome else view.test.step_c
    return {
        "id": result.id,
        "kind": "finite" if finite else result.kind,
        "statement": result.statement,
        "observed_cup_c": None if result.observed_cup_c is None else str(result.observed_cup_c),
        "probe_correction_c": result.probe_correction_c,
        "pressure_correction_c": _digits(result.pressure_correction_c),
        "corrected_c": _digits(result.corrected_c),
        "reported_c": result.reported_c,
        "reported_text": result.reported_text or None,
        "rounding": f"once, half up, to {rounding_c:g} °C" if finite else None,
        "bracket": {"low_c": result.low_corrected_c, "high_c": result.high_corrected_c},
        "repeatability_c": result.repeatability_c,
        "reproducibility_c": result.reproducibility_c,
        "precision_note": result.precision_note,
        "uncertainty_note": _uncertainty_note(result),
        "deviations": [*result.deviations, *deviations],
        "warnings": list(result.warnings),
        "state": "released",
    }


def _digits(value_c: float | None) -> str | None:
    return None if value_c is None else f"{value_c:.2f}"


def _uncertainty_note(result: Result) -> str:
    if result.reproducibility_c is None:
        return "Not stated: the method gives no reproducibility here."
    # R is the 95 % difference of two single results, so one result's expanded uncertainty is
    # R / √2 (ISO 4259, memory; the square root of two is arithmetic).
    expanded_c = result.reproducibility_c / 2**0.5
    return (
        f"± {expanded_c:.1f} °C (95 %), from the method's reproducibility: R/√2. It does not cover "
        "sampling."
    )


def _regimes(
    opened: OpenLaboratory, result: Result, view: BenchView, classified: Classified
) -> Facts | None:
    """Return what the picture of the regimes shows; None unless it agrees with the answers given.

    Evidence that came in after the classification would draw another picture than the table says.
    """
    if not classified.answers:
        return None
    evidence = evidence_of(opened, result, view)
    given = [(answer["regime"], answer["classification"]) for answer in classified.answers]
    if given != [(answer.regime, answer.classification) for answer in classify(evidence)]:
        return None
    return regimes_shown(evidence, lookup=lambda _: view.method)


def _classification(answer: Mapping[str, Any]) -> Facts:
    return {
        **answer,
        "margin_c": _digits(answer["margin_c"]),
        "margin_r": _digits(answer.get("margin_r")),
        "chances": [
            {**each, "probability": f"{each['probability']:.4f}"}
            for each in answer.get("chances", ())
        ],
    }


def _people(
    opened: OpenLaboratory, view: BenchView, result: Result, authorised_by: str
) -> list[Facts]:
    ledger, names = opened.state, opened.store.names()
    review = ledger.reviews.get(view.test.id)
    ids = [recorded.by for recorded in view.series.moves]
    ids += [recorded.entered_by for recorded in view.series.moves]
    ids += [view.series.analyst, opened.by, authorised_by]
    ids += [each.person for each in ledger.signatures.get(result.id, ())]
    ids += [review.reviewer] if review else []
    return [
        {
            "id": person,
            "name": names.get(person, person),
            "role": ", ".join(sorted(ledger.roles.get(person, ()))) or "not registered",
        }
        for person in dict.fromkeys(ids)
    ]


def _sources(view: BenchView) -> list[Facts]:
    return [dict(entry) for entry in in_words(view.method.sources())]
