"""When a verification falls due: an interval that the laboratory decides, and what follows."""

from datetime import datetime
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError
from closedcup.laboratory import Result, Verification
from closedcup.laboratory.verification_interval import VerificationInterval, due_at
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def decide_interval(
    opened: OpenLaboratory,
    days: int | None,
    reason: str,
    *,
    apparatus_id: str = "",
    key: str | None = None,
) -> VerificationInterval:
    """Decide how many days a verification speaks for; `days` None asks for none any more.

    Of one apparatus, or of all that have no interval of their own. Raises InputError for days
    below 1 or without a reason.
    """
    ledger = opened.state
    if apparatus_id:
        find(ledger.apparatus, apparatus_id, "apparatus")
    if days is not None and days < 1:
        raise InputError(
            "interval-unusable",
            f"An interval of {days} days is none.",
            where="days",
            fix="Give whole days, 1 at least.",
        )
    decided = VerificationInterval(apparatus_id, days, opened.clock().isoformat())
    said = in_words(reason, "reason")
    subject = apparatus_id or "laboratory"
    opened.record("verification-interval-decided", subject, decided, key=key, reason=said)
    return decided


def decided_for(ledger: Ledger, apparatus: str) -> tuple[VerificationInterval, ...]:
    """Return the decisions that hold for an apparatus: the common ones until its own first."""
    own = ledger.intervals.get(apparatus, ())
    common = ledger.intervals.get("", ())
    if not own:
        return common
    first = datetime.fromisoformat(own[0].decided_at)
    before = [one for one in common if datetime.fromisoformat(one.decided_at) < first]
    return (*before, *own)


def due(ledger: Ledger, apparatus: str, method: str) -> datetime | None:
    """Return when the next verification of an apparatus for a method falls due; None for never.

    None also where it was never verified: then it is not in control at all.
    """
    made = ledger.verifications_for(apparatus, method)
    if not made:
        return None
    return due_at(decided_for(ledger, apparatus), datetime.fromisoformat(made[-1].verified_at))


def due_lines(opened: OpenLaboratory, apparatus: str) -> list[str]:
    """Say which verifications of an apparatus are overdue or fall due today.

    Methods that the same verification speaks for are named together.
    """
    ledger, now = opened.state, opened.clock()
    by_check: dict[tuple[str, datetime], list[str]] = {}
    for method in ledger.apparatus[apparatus].methods:
        when = due(ledger, apparatus, method)
        if when is not None and when.date() <= now.date():
            last = ledger.verifications_for(apparatus, method)[-1]
            by_check.setdefault((last.id, when), []).append(method)
    return [
        f"The verification of {apparatus} for {', '.join(methods)} "
        + (
            f"was due on {when.date().isoformat()}: results made since are held until it is "
            "verified again."
            if when <= now
            else "falls due today."
        )
        for (_, when), methods in by_check.items()
    ]


def verifications_due(opened: OpenLaboratory) -> list[str]:
    """Return, in words, every verification that is overdue or falls due today."""
    return [words for each in opened.state.apparatus for words in due_lines(opened, each)]


def made_overdue(ledger: Ledger, result: Result, made: datetime) -> str:
    """Say why a result made at a moment is held for an overdue verification; "" where it is not.

    A later verification in control covers it: the result lies between two good checks.
    """
    apparatus = ledger.series[result.series].apparatus
    checks = ledger.verifications_for(apparatus, ledger.tests[result.test].method)
    before = [each for each in checks if _moment(each) <= made]
    if not before or any(each.in_control for each in checks[len(before) :]):
        return ""
    when = due_at(decided_for(ledger, apparatus), _moment(before[-1]))
    if when is None or when > made:
        return ""
    return (
        f"It was made when the verification of {apparatus} was overdue (since "
        f"{when.date().isoformat()}): verify it, and what it made may be released."
    )


def _moment(verification: Verification) -> datetime:
    return datetime.fromisoformat(verification.verified_at)
