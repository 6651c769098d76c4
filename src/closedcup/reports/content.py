"""What the document says: the record as labelled facts, tables and sentences, in reading order.

Only wording and order live here; report.typ sets them. Nothing is computed: a decimal string is
printed as it stands, a number with at most three decimals.
"""

from collections.abc import Sequence
from typing import Any, Final

from closedcup.reports.checker import Item
from closedcup.reports.lines import fact_line, person_line
from closedcup.reports.record import Record
from closedcup.reports.record_of_meaning import Classification
from closedcup.reports.record_of_test import Component, Determination
from closedcup.reports.sign_off import signatures, sources, statements
from closedcup.reports.wording import celsius, limit_text, number_text, present, when

Content = dict[str, Any]

CUSTOMER_NOTE: Final = (
    "† Supplied by the customer; the laboratory does not answer for it. What rests on it "
    "changes if it is wrong."
)


def content_of(record: Record, items: Sequence[Item], sha256: str) -> Content:
    """Return the blocks of the document; `sha256` is that of the attached record."""
    report, laboratory = record["report"], record["laboratory"]
    return {
        "title": report["title"],
        "number": report["number"],
        "replaces": _replacement(record),
        "demonstration": laboratory["demonstration"],
        "laboratory": laboratory["name"],
        "laboratory_lines": present(
            laboratory["address"],
            f"Tested at: {place}" if (place := laboratory["place_of_activity"]) else None,
            laboratory["contact"],
        ),
        "result": _result(record),
        "facts": [
            {"heading": "Customer and sample", "rows": _sample(record)},
            {"heading": "Test requested", "rows": _test(record)},
        ],
        "customer_note": CUSTOMER_NOTE if record["customer_supplied"] else None,
        "determinations": [_determination(record, made) for made in record["determinations"]],
        "determination_notes": _determination_notes(record),
        "measurement": [
            {"heading": "From the cup's reading to the result", "rows": _chain(record)},
            {"heading": "Apparatus", "rows": _apparatus(record)},
        ],
        "preparation": [
            {"heading": "Before the first temperature", "rows": _preparation(record)},
            {"heading": "Precision and uncertainty", "rows": _precision(record)},
        ],
        "deviations": record["result"]["deviations"] or ["None."],
        "warnings": record["result"]["warnings"],
        "classifications": [_classification(entry) for entry in record["classifications"]],
        "classification_refused": _refusal(record),
        "statements": statements(record, sha256),
        "omitted": [f"{i.name} ({i.clause}): {i.detail}" for i in items if i.state == "omitted"],
        "sources": sources(record),
        "signatures": signatures(record),
    }


def _replacement(record: Record) -> str | None:
    report = record["report"]
    if report["replaces"] is None:
        return None
    return f"This report replaces report {report['replaces']}. {report['changes'] or ''}".strip()


def _result(record: Record) -> Content:
    result, test = record["result"], record["test"]
    flags = []
    if not test["confirmed"]:
        flags.append(
            "Parameters unconfirmed: the method's numbers have not been checked against the "
            "laboratory's own copy."
        )
    if result["deviations"]:
        flags.append(f"Deviations from the method: {len(result['deviations'])}, listed below.")
    return {
        "number": result["reported_text"],
        "statement": result["statement"],
        "method": ", ".join(present(test["method_name"], test["edition"])),
        "bracket": _bracket(record),
        "conformity": _conformity(record),
        "flags": flags,
    }


def _bracket(record: Record) -> str | None:
    bracket = record["result"]["bracket"]
    if bracket is None or bracket["low_c"] is None or bracket["high_c"] is None:
        return None
    low, high = number_text(bracket["low_c"]), number_text(bracket["high_c"])
    return f"Between {low} °C (highest no flash) and {high} °C (lowest flash), corrected."


def _conformity(record: Record) -> dict[str, str] | None:
    conformity = record["conformity"]
    if conformity is None:
        return None
    verb = "conforms to" if conformity["conforms"] else "does not conform to"
    result = f"Result {record['result']['id']} {verb} the limit {limit_text(conformity['limit'])}."
    rule = f"Decision rule: {conformity['rule']}; agreed before testing."
    words = " ".join([rule, *conformity.get("words", []), *conformity.get("notes", [])])
    return {"decision": result, "words": words}


def _sample(record: Record) -> list[dict[str, Any]]:
    sample, customer = record["sample"], record["customer"]
    who = "by the customer" if sample["sampled_by"] == "customer" else "by the laboratory"
    kind = present(sample["product_kind"], "waste" if sample["waste"] else None)
    container = present(
        sample["container"],
        None if sample["fill_percent"] is None else f"{number_text(sample['fill_percent'])} % full",
        None
        if sample["arrived_at_c"] is None
        else f"arrived at {number_text(sample['arrived_at_c'])} °C",
    )
    sampled = when(sample["sampled_at"], "sample.sampled_at")
    return [
        fact_line(
            record,
            "Customer",
            "customer",
            ", ".join(present(customer["name"], customer["contact"])),
        ),
        fact_line(record, "Sample", "sample.id", sample["id"]),
        fact_line(record, "Description", "sample.description", sample["description"]),
        fact_line(record, "Kind of product", "sample.product_kind", ", ".join(kind)),
        fact_line(record, "Composition", "sample.composition", _composition(record)),
        fact_line(record, "Sampled", "sample.sampled_at", f"{sampled}, {who}"),
        fact_line(record, "Sampling", "sample.sampling", sample["sampling"]),
        fact_line(record, "Received", "", when(sample["received_at"], "sample.received_at")),
        fact_line(record, "Container", "", ", ".join(container)),
        fact_line(record, "Condition", "", sample["condition"]),
    ]


def _composition(record: Record) -> str:
    composition = record["sample"]["composition"]
    if composition["trust"] == "unknown" or not composition["components"]:
        return "unknown"

    def part(component: Component) -> str:
        return f"{component['name']} {number_text(component['fraction'])}"

    parts = ", ".join(map(part, composition["components"]))
    return f"{composition['trust']}, {composition['basis']} fractions: {parts}"


def _test(record: Record) -> list[dict[str, Any]]:
    test, pressure = record["test"], record["pressure"]
    kinds = {"finite": "finite flash point", "limit": "flash or no flash at a limit"}
    limit = limit_text(test["limit"]["text"]) if test["limit"] else "none"
    check = f"; {pressure['altitude_check']}" if pressure["altitude_check"] else ""
    method = f"{test['method_name'] or 'not given'} ({test['method']})"
    dates = sorted({made["observed_at"][:10] for made in record["determinations"]})
    tested = dates[0] if len(dates) == 1 else f"{dates[0]} to {dates[-1]}" if dates else None
    return [
        fact_line(record, "Test", "", f"{test['id']}: {kinds[test['kind']]}"),
        fact_line(record, "Method", "test.method", method),
        fact_line(record, "Edition", "", test["edition"]),
        fact_line(record, "Limit", "test.limit", limit),
        fact_line(
            record, "Decision rule", "test.decision_rule", test["decision_rule"] or "none agreed"
        ),
        fact_line(record, "Last step", "", celsius(test["step_c"], without="does not apply")),
        fact_line(record, "Specimen", "", f"{number_text(test['specimen_ml'])} mL each"),
        fact_line(record, "Igniter", "", test["igniter"]),
        fact_line(record, "Tested", "", tested),
        fact_line(record, "Pressure", "", f"{pressure['text']}, {pressure['kind']}{check}"),
    ]


def _determination(record: Record, made: Determination) -> dict[str, Any]:
    detector = made["detector"]
    if isinstance(detector, bool):
        detector = "flash" if detector else "no flash"
    name = person_line(record, made["by"]).split(",")[0]
    moment = when(made["observed_at"], f"determinations, number {made['number']}")
    corrected = made["already_corrected"]
    return {
        "counts_as": made["counts_as"],
        "used": made["valid"],
        "cells": [
            str(made["number"]),
            str(made["specimen"]),
            number_text(made["cup_c"]) + ("*" if corrected else ""),
            made["eye"],
            detector or "not used",
            made["counts_as"] + ("" if made["valid"] else ", not used"),
            moment,
            name,
        ],
    }


def _determination_notes(record: Record) -> list[str]:
    remarks = [f"{d['number']}: {d['note']}" for d in record["determinations"] if d["note"]]
    corrected = [
        f"* {made['number']}: the reading was already corrected for pressure "
        f"({done['pressure']}, by {done['by']}) and was not corrected again."
        for made in record["determinations"]
        if (done := made["already_corrected"])
    ]
    return remarks + corrected


def _chain(record: Record) -> list[dict[str, Any]]:
    result, pressure = record["result"], record["pressure"]
    none = "none on record; nothing added"
    probe = celsius(result["probe_correction_c"], signed=True, without=none)
    if result["pressure_correction_c"] is None:
        shift = "not applied"
    else:
        shift = f"{celsius(result['pressure_correction_c'], signed=True)} from {pressure['text']}"
    reported = celsius(result["reported_c"], without="no number is reported")
    if result["rounding"] and result["reported_c"] is not None:
        reported += f", {result['rounding']}"
    return [
        fact_line(record, "Cup reading", "", celsius(result["observed_cup_c"])),
        fact_line(record, "Probe correction", "", probe),
        fact_line(record, "Pressure correction", "", shift),
        fact_line(record, "Corrected to 101.3 kPa", "", celsius(result["corrected_c"])),
        fact_line(record, "Reported, rounded once", "", reported),
    ]


def _apparatus(record: Record) -> list[dict[str, Any]]:
    apparatus = record["apparatus"]
    check = apparatus["verification"]
    if check is None:
        verified = "none on record"
    else:
        state = "in control" if check["in_control"] else "out of control"
        verified = (
            f"{when(check['on'], 'apparatus.verification.on')}, {check['material']}, lot "
            f"{check['lot']}: mean {celsius(check['mean_c'])}, reference "
            f"{celsius(check['reference_c'])}, difference "
            f"{celsius(check['difference_c'], signed=True)}, allowed "
            f"{celsius(check['limit_c'])}: {state}"
        )
    return [
        fact_line(record, "Apparatus", "", f"{apparatus['id']}: {apparatus['description']}"),
        fact_line(record, "State", "", apparatus["state"]),
        fact_line(record, "Probe", "", apparatus["probe_correction_text"]),
        fact_line(record, "Verification", "", verified),
    ]


def _preparation(record: Record) -> list[dict[str, Any]]:
    plan, estimate = record["plan"], record["estimate"]
    if estimate is None:
        guess = "none made"
    else:
        guess = (
            f"{celsius(estimate['flash_point_c'])}, from {celsius(estimate['low_c'])} to "
            f"{celsius(estimate['high_c'])} at 101.3 kPa ({estimate['coverage']}); calculated, "
            "not a test result"
        )
    clause = f" ({plan['clause']})" if plan["clause"] else ""
    hazards = "; ".join(plan["hazards"]) or "none found"
    if plan["reviewer"]:
        hazards += f"; reviewed by {person_line(record, plan['reviewer'])}"
    start = f"{celsius(plan['starting_cup_c'])} in the cup: {plan['rule']}{clause}"
    return [
        fact_line(record, "Estimate", "", guess),
        fact_line(record, "Start", "", start),
        fact_line(record, "Relied on", "", plan["trusts"]),
        fact_line(record, "Hazards", "", hazards),
    ]


def _precision(record: Record) -> list[dict[str, Any]]:
    result = record["result"]
    none = "not stated by the method here"
    return [
        fact_line(record, "Repeatability r", "", celsius(result["repeatability_c"], without=none)),
        fact_line(
            record, "Reproducibility R", "", celsius(result["reproducibility_c"], without=none)
        ),
        fact_line(record, "Basis", "", result["precision_note"]),
        fact_line(record, "Uncertainty", "", result["uncertainty_note"]),
    ]


def _classification(entry: Classification) -> dict[str, Any]:
    margin = entry["margin_c"]
    notes = [*entry["notes"], *(f"Missing: {what}." for what in entry["missing"])]
    if entry["indicative"] and not any(note.startswith("Indicative") for note in notes):
        notes.insert(0, "Indicative only: the regime does not name this test method.")
    return {
        "regime": entry["regime"],
        "classification": entry["classification"] or "not decided",
        "decided": entry["classification"] is not None,
        "indicative": entry["indicative"],
        "clause": ", ".join(present(entry["clause"], entry["edition"])),
        "margin": "none" if margin is None else celsius(margin, signed=True),
        "rule": entry["rule"],
        "notes": " ".join(filter(None, [_chances(entry), *notes])),
    }


def _chances(entry: Classification) -> str:
    """Say the chance of each class where more than one is worth a percent."""
    likely = [each for each in entry.get("chances", []) if float(each["probability"]) >= 0.01]
    if len(likely) < 2:
        return ""
    said = ", ".join(
        f"{each['classification']} {float(each['probability']) * 100:.0f} %" for each in likely
    )
    return f"Chance by the method's R: {said}."


def _refusal(record: Record) -> str | None:
    refused = record["classification_refused"]
    return refused and f"No classification is given. {refused['what']} {refused['fix']}"
