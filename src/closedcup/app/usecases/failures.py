"""The register of system failures, each with what was done at once and against the cause.

ISO/IEC 17025:2017, 7.11.3 e asks for it.
"""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.laboratory import CorrectiveAction, SystemFailure
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def note_failure(
    opened: OpenLaboratory,
    what: str,
    immediate: str,
    corrective: str | None = None,
    *,
    key: str | None = None,
) -> Answer:
    """Note a failure of the system and what was done at once; a corrective action may follow."""
    earlier = opened.recorded(key)
    ledger = opened.state
    if earlier is None:
        failure = SystemFailure(
            id=f"F-{len(ledger.failures) + 1:04d}",
            what=in_words(what, "what"),
            immediate=in_words(immediate, "immediate"),
            noted_at=opened.clock().isoformat(),
        )
        earlier = opened.record("system-failure-noted", failure.id, failure, key=key)
    if corrective is not None:
        take_action(opened, earlier.subject, corrective, key=key and f"{key}/corrective")
    return _told(opened.state, earlier.subject)


def take_action(
    opened: OpenLaboratory, failure_id: str, action: str, *, key: str | None = None
) -> Answer:
    """Record what was done so that a failure does not come back."""
    find(opened.state.failures, failure_id, "failure")
    done = CorrectiveAction(failure_id, in_words(action, "corrective"))
    opened.record("corrective-action-taken", failure_id, done, key=key)
    return _told(opened.state, failure_id)


def failures(opened: OpenLaboratory) -> list[Answer]:
    """Return the register, oldest first; one without a corrective action is open."""
    ledger = opened.state
    return [_told(ledger, failure) for failure in ledger.failures]


def _told(ledger: Ledger, failure_id: str) -> Answer:
    failure = ledger.failures[failure_id]
    actions = ledger.corrective.get(failure_id, ())
    return {
        "id": failure.id,
        "noted_at": failure.noted_at,
        "what": failure.what,
        "immediate": failure.immediate,
        "corrective": [done.action for done in actions],
        "open": not actions,
    }
