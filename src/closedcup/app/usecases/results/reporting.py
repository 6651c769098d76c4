"""Issue the report of a released result, keep it as issued, and write it out again."""

import json
from pathlib import Path
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.people.four_eyes import refuse_own_work
from closedcup.app.usecases.records.records import refuse_damaged
from closedcup.app.usecases.results.report_record import build_record
from closedcup.app.usecases.results.results import refuse_unreleased
from closedcup.errors import InputError
from closedcup.laboratory import Result
from closedcup.records.facts import IssuedReport
from closedcup.records.ledger import Ledger


def issue_report(opened: OpenLaboratory, result_id: str, *, key: str | None = None) -> IssuedReport:
    """Issue a report of a released result, or return the last one issued on it.

    Where the result supersedes a reported one, its report replaces that one's and says why.
    """
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    issued = ledger.report_on(result_id)
    if issued is not None:
        return issued
    replaces, changes, told = _amendment(ledger, result)
    return issue_in_place_of(opened, result, replaces=replaces, changes=changes, told=told, key=key)


def _amendment(ledger: Ledger, result: Result) -> tuple[str, str, tuple[str, ...]]:
    """Return which report this one replaces, what changed, and who was told; empty for none.

    The last reported result counts: one that was superseded unreported gave no report to replace.
    """
    told: tuple[str, ...] = ()
    reasons: list[str] = []
    earlier_id = result.supersedes
    while earlier_id:
        earlier, superseded = ledger.results[earlier_id], ledger.superseded[earlier_id]
        told, reasons = (*superseded.told, *told), [superseded.reason, *reasons]
        report = ledger.report_on(earlier_id)
        if report is not None:
            changes = (
                f"Result {earlier.id} ({earlier.statement}) is superseded by result {result.id} "
                f"({result.statement}). Why: {' '.join(reasons)}"
            )
            return report.number, changes, tuple(dict.fromkeys(told))
        earlier_id = earlier.supersedes
    return "", "", ()


def issue_in_place_of(
    opened: OpenLaboratory,
    result: Result,
    *,
    replaces: str,
    changes: str,
    told: tuple[str, ...],
    key: str | None = None,
) -> IssuedReport:
    """Issue a report: build its record, set it as a document, keep both with their hashes.

    The whole chain is checked first. `replaces` is the number of an earlier report, or empty.
    """
    ledger = opened.permit("report-issued")
    refuse_unreleased(ledger, result)
    refuse_own_work(ledger, result, opened.by)
    refuse_damaged(opened)
    from closedcup.reports import canonical_record_bytes, open_record

    now = opened.clock()
    number = f"FP-{now.year}-{len(ledger.reports) + 1:04d}"
    record = build_record(
        opened,
        result,
        number=number,
        issued_at=now.isoformat(),
        authorised_by=opened.by,
        replaces=replaces or None,
        changes=changes or None,
    )
    # The document is set from the bytes that are kept, so that it can be made again from them.
    kept = canonical_record_bytes(open_record(record))
    document = _document(json.loads(kept))
    report = IssuedReport(
        number=number,
        result=result.id,
        document_sha256=opened.store.attach(f"{number}.pdf", document),
        record_sha256=opened.store.attach(
            f"{number}.json", canonical_record_bytes(open_record(record))
        ),
        seal=record["report"]["seal"],
        seal_number=record["report"]["seal_number"],
        issued_at=now.isoformat(),
        authorised_by=opened.by,
        replaces=replaces,
        changes=changes,
        told=told,
    )
    opened.record("report-issued", number, report, key=key)
    return report


def report_on(opened: OpenLaboratory, wanted: str, *, key: str | None = None) -> IssuedReport:
    """Return the report with a number, replaced or not, or issue the one of a result."""
    by_number = opened.state.reports.get(wanted)
    return by_number or issue_report(opened, wanted, key=key)


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
        "replaces": report.replaces or None,
        "replaced_by": opened.state.replaced_by(number),
    }
