"""Supersede a result, and issue an amended report in the place of another.

What was issued stays on record as it was; the new one names the old one.
"""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.app.usecases.results.reporting import issue_in_place_of
from closedcup.errors import InputError
from closedcup.laboratory import Result, Supersession
from closedcup.records.facts import IssuedReport
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def supersede(
    opened: OpenLaboratory,
    result_id: str,
    reason: str,
    told: tuple[str, ...] = (),
    *,
    key: str | None = None,
) -> Answer:
    """Take a result out of force, with the reason; its test may then be begun again.

    Who was told must be given for a result that was released: it may have been used.
    """
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    if result_id not in ledger.superseded:
        superseded = Supersession(
            result=result_id,
            reason=in_words(reason, "reason"),
            told=_told(ledger, result, told),
            superseded_at=opened.clock().isoformat(),
        )
        opened.record("result-superseded", result_id, superseded, key=key)
    elif opened.recorded(key) is None:
        raise InputError(
            "already-superseded",
            f"Result {result_id} is superseded already: {ledger.superseded[result_id].reason}",
            where=f"result {result_id}",
            fix=f"See: closedcup history {result_id}",
        )
    kept, report = opened.state.superseded[result_id], ledger.report_on(result_id)
    return {
        "result": result_id,
        "test": result.test,
        "reason": kept.reason,
        "told": list(kept.told),
        "superseded_at": kept.superseded_at,
        "report": None if report is None else report.number,
        "next": f"closedcup begin {result.test}",
    }


def _told(ledger: Ledger, result: Result, told: tuple[str, ...]) -> tuple[str, ...]:
    names = tuple(name.strip() for name in told if name.strip())
    release = ledger.releases.get(result.id)
    if not names and release is not None and release.released:
        raise InputError(
            "told-missing",
            f"Result {result.id} was released: who was told that it no longer counts?",
            where=f"result {result.id}",
            fix="Name each with --told (the customer, the laboratory's head).",
        )
    return names


def amend_report(
    opened: OpenLaboratory,
    number: str,
    changes: str,
    told: tuple[str, ...],
    *,
    key: str | None = None,
) -> IssuedReport:
    """Issue a report on the same result anew, with what changed; both numbers are on it.

    For a report whose result was superseded, report the new result instead. InputError for a
    report that was replaced already.
    """
    ledger = opened.state
    if (earlier := opened.recorded(key)) is not None:
        return ledger.reports[earlier.subject]
    replaced = find(ledger.reports, number, "report")
    if (later := ledger.replaced_by(number)) is not None:
        raise InputError(
            "already-replaced",
            f"Report {number} is replaced by {later} already.",
            where=f"report {number}",
            fix=f"Amend the last one: closedcup amend-report {later}",
        )
    if not any(name.strip() for name in told):
        raise InputError(
            "told-missing",
            "Who was told that the report is amended?",
            where=f"report {number}",
            fix="Name each with --told.",
        )
    return issue_in_place_of(
        opened,
        ledger.results[replaced.result],
        replaces=number,
        changes=in_words(changes, "changes"),
        told=told,
        key=key,
    )


def reports(opened: OpenLaboratory, newest: int | None = None) -> list[Answer]:
    """Return the reports issued, oldest first, and which one takes the place of which.

    All of them, or only so many of the newest: each is looked up with its sample.
    """
    ledger = opened.state
    numbers = list(ledger.reports)
    chosen = numbers if newest is None else numbers[max(len(numbers) - newest, 0) :]
    return [
        {
            "number": report.number,
            "result": report.result,
            "issued_at": report.issued_at,
            "replaces": report.replaces or None,
            "changes": report.changes or None,
            "told": list(report.told),
            "replaced_by": ledger.replaced_by(report.number),
            "result_superseded": report.result in ledger.superseded,
        }
        for report in (ledger.reports[number] for number in chosen)
    ]
