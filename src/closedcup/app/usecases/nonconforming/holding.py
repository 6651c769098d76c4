"""Hold an apparatus, a lot or a person; lift the hold; review the results that it flagged."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.moments import read_moment
from closedcup.app.usecases.nonconforming.doubts import active_hold, doubts_about, flagged_by
from closedcup.app.usecases.people.four_eyes import refuse_own_work
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Hold, HoldLifted, Result, ResultStands, parse_hold_kind
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def place_hold(
    opened: OpenLaboratory,
    kind: str,
    subject: str,
    reason: str,
    *,
    since: str | None = None,
    key: str | None = None,
) -> Answer:
    """Hold an apparatus, a material or a person; return every result that this puts in doubt.

    Back to the last good check: the last verification in control of an apparatus, the
    verifications made with a material, the last verification in control that a person made.
    InputError for a person who made none: then the date must be given.
    """
    if (earlier := opened.recorded(key)) is not None:
        return _told(opened.state, earlier.subject)
    ledger, held = opened.state, parse_hold_kind(kind)
    shelves: dict[str, Mapping[str, object]] = {
        "apparatus": ledger.apparatus,
        "material": ledger.materials,
        "person": ledger.people,
    }
    find(shelves[held], subject, "reference material" if held == "material" else held)
    if (now := active_hold(ledger, held, subject)) is not None:
        raise InputError(
            "already-held",
            f"{subject} is held already ({now.id}): {now.reason}",
            where=f"{held} {subject}",
            fix=f"Lift it with: closedcup lift {now.id} --reason …",
        )
    if since is not None:
        begins = _since(opened, since)
    else:
        begins = last_check_of(ledger, subject).isoformat() if held == "person" else ""
    hold = Hold(
        id=f"H-{len(ledger.holds) + 1:04d}",
        kind=held,
        subject=subject,
        reason=in_words(reason, "reason"),
        held_at=opened.clock().isoformat(),
        since=begins,
    )
    opened.record("hold-placed", hold.id, hold, key=key)
    return _told(opened.state, hold.id)


def last_check_of(ledger: Ledger, person: str) -> datetime:
    """Return when a person's work was last proved good: a verification in control that they made.

    InputError where there is none on record.
    """
    good = [
        datetime.fromisoformat(check.verified_at)
        for checks in ledger.verifications.values()
        for check in checks
        if check.in_control and ledger.verified_by[check.id] == person
    ]
    if not good:
        raise InputError(
            "since-missing",
            f"{person} made no verification in control, so nothing on record says until when the "
            "work was good.",
            where="since",
            fix="Say from when it is in doubt: --since 2026-02-01, or the first day of work here.",
        )
    return max(good)


def _since(opened: OpenLaboratory, text: str) -> str:
    """Read a date (from its midnight here) or a moment with its offset."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return read_moment(text).isoformat()
    zone = opened.clock().tzinfo
    return datetime(day.year, day.month, day.day, tzinfo=zone).isoformat()


def lift_hold(
    opened: OpenLaboratory,
    hold_id: str,
    reason: str,
    *,
    results_stand: bool = False,
    key: str | None = None,
) -> Answer:
    """Lift a hold. Unless the results it flags stand as a whole, each is still to be reviewed."""
    if opened.recorded(key) is not None:
        return _told(opened.state, hold_id)
    ledger = opened.state
    find(ledger.holds, hold_id, "hold")
    if hold_id in ledger.lifted:
        raise InputError(
            "already-lifted", f"Hold {hold_id} was lifted already.", where=f"hold {hold_id}"
        )
    lifted = HoldLifted(
        hold_id, in_words(reason, "reason"), results_stand, opened.clock().isoformat()
    )
    opened.record("hold-lifted", hold_id, lifted, key=key)
    return _told(opened.state, hold_id)


def let_stand(
    opened: OpenLaboratory, result_id: str, reason: str, *, key: str | None = None
) -> ResultStands:
    """Record that a flagged result was reviewed and stands, and why.

    Refused while a hold is on: it is lifted first.
    """
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    refuse_own_work(ledger, result, opened.by)
    doubts = doubts_about(ledger, result)
    if not doubts:
        raise InputError(
            "nothing-to-review", f"Nothing flags result {result_id}.", where=f"result {result_id}"
        )
    lasting = [doubt for doubt in doubts if doubt.lasts and doubt.id in ledger.holds]
    if lasting:
        raise Refused(
            "hold-lasts",
            f"Result {result_id} cannot be reviewed yet. {lasting[0].words}",
            where=f"result {result_id}",
            fix=f"Lift the hold first: closedcup lift {lasting[0].id} --reason …",
        )
    ids = tuple(doubt.id for doubt in doubts)
    reviewed = ResultStands(result_id, ids, in_words(reason, "reason"))
    opened.record("result-let-stand", result_id, reviewed, key=key)
    return reviewed


def holds(opened: OpenLaboratory) -> list[Answer]:
    """Return what is held or left results to review: holds, and verifications out of control."""
    ledger = opened.state
    rows = [_told(ledger, hold) for hold in ledger.holds]
    for apparatus, checks in ledger.verifications.items():
        for check in checks:
            flagged = () if check.in_control else flagged_by(ledger, check.id)
            last = ledger.verifications_for(apparatus, check.method)[-1]
            if not check.in_control and (flagged or last is check):
                rows.append(
                    {
                        "id": check.id,
                        "kind": "apparatus",
                        "subject": apparatus,
                        "reason": f"verification out of control: {check.difference_c:+.2f} °C, "
                        f"permitted ± {check.permitted_c:.2f} °C",
                        "since": None,
                        "held_at": check.verified_at,
                        "lasts": last is check,
                        "results": [_flagged(ledger, result) for result in flagged],
                    }
                )
    return rows


def _told(ledger: Ledger, hold_id: str) -> Answer:
    hold = ledger.holds[hold_id]
    return {
        "id": hold.id,
        "kind": hold.kind,
        "subject": hold.subject,
        "reason": hold.reason,
        "since": hold.since or None,
        "held_at": hold.held_at,
        "lasts": hold.id not in ledger.lifted,
        "results": [_flagged(ledger, result) for result in flagged_by(ledger, hold.id)],
    }


def _flagged(ledger: Ledger, result: Result) -> Answer:
    release, report = ledger.releases.get(result.id), ledger.report_on(result.id)
    return {
        "id": result.id,
        "sample": ledger.tests[result.test].sample,
        "statement": result.statement,
        "released": release is not None and release.released,
        "report": None if report is None else report.number,
    }
