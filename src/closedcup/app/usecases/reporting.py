"""Issue the report of a released result, keep it as issued, and write it out again."""

import json
from pathlib import Path
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.records import refuse_damaged
from closedcup.app.usecases.report_record import build_record
from closedcup.app.usecases.results import refuse_unreleased
from closedcup.errors import InputError
from closedcup.records.facts import IssuedReport


def issue_report(opened: OpenLaboratory, result_id: str, *, key: str | None = None) -> IssuedReport:
    """Issue a report: build its record, set it as a document, keep both with their hashes.

    The whole chain is checked first. A result has one report; asked again, it is returned.
    """
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    issued = [report for report in ledger.reports.values() if report.result == result_id]
    if issued:
        return issued[-1]
    refuse_unreleased(ledger, result)
    refuse_damaged(opened)
    from closedcup.reports import canonical_record_bytes, open_record

    now = opened.clock()
    number = f"FP-{now.year}-{len(ledger.reports) + 1:04d}"
    record = build_record(
        opened, result, number=number, issued_at=now.isoformat(), authorised_by=opened.by
    )
    # The document is set from the bytes that are kept, so that it can be made again from them.
    kept = canonical_record_bytes(open_record(record))
    document = _document(json.loads(kept))
    report = IssuedReport(
        number=number,
        result=result_id,
        document_sha256=opened.store.attach(f"{number}.pdf", document),
        record_sha256=opened.store.attach(
            f"{number}.json", canonical_record_bytes(open_record(record))
        ),
        seal=record["report"]["seal"],
        seal_number=record["report"]["seal_number"],
        issued_at=now.isoformat(),
        authorised_by=opened.by,
    )
    opened.record("report-issued", number, report, key=key)
    return report


def report_document(opened: OpenLaboratory, number: str) -> bytes:
    """Return the document as issued, checked against its hash."""
    report = find(opened.state.reports, number, "report")
    return opened.store.attachment(report.document_sha256).content


def report_record(opened: OpenLaboratory, number: str) -> bytes:
    """Return the machine-readable record as issued, checked against its hash."""
    report = find(opened.state.reports, number, "report")
    return opened.store.attachment(report.record_sha256).content


def made_again(opened: OpenLaboratory, number: str) -> bytes:
    """Set the document again from its record: the same bytes with the same versions."""
    return _document(json.loads(report_record(opened, number)))


def _document(record: dict[str, Any]) -> bytes:
    from closedcup.reports import open_record, record_chart, render_pdf, svg

    checked = open_record(record)
    return render_pdf(checked, svg(record_chart(checked)))


def write_report(opened: OpenLaboratory, number: str, folder: Path) -> dict[str, Any]:
    """Write the document and its record into a folder; return where they are."""
    report = find(opened.state.reports, number, "report")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        document, record = folder / f"{number}.pdf", folder / f"{number}.json"
        document.write_bytes(report_document(opened, number))
        record.write_bytes(report_record(opened, number))
    except OSError as error:
        raise InputError(
            "folder-unwritable",
            f"The report could not be written: {error.strerror or error}.",
            where=str(folder),
            fix="Name another folder with --folder. The report itself is issued and kept.",
        ) from error
    return {
        "number": number,
        "result": report.result,
        "document": str(document),
        "document_sha256": report.document_sha256,
        "record": str(record),
        "seal": report.seal,
        "seal_number": report.seal_number,
    }
