"""The register of system failures, each with what was done at once and against the cause.

ISO/IEC 17025:2017, 7.11.3 e asks for it. People enter failures; the program enters those that it
finds itself. A failure is open until a corrective action was taken, then its effect is reviewed.
"""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory import CorrectiveAction, SystemFailure
from closedcup.laboratory.nonconforming import EffectivenessReview
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
    if earlier is None:
        failure = _failure(opened, in_words(what, "what"), in_words(immediate, "immediate"))
        earlier = opened.record("system-failure-noted", failure.id, failure, key=key)
    if corrective is not None:
        take_action(opened, earlier.subject, corrective, key=key and f"{key}/corrective")
    return _told(opened.state, earlier.subject)


def note_found(opened: OpenLaboratory, cause: str, what: str, immediate: str) -> Answer:
    """Note a failure that the program found itself, unless one of this cause is open already.

    `failure` is its id, None where it could not be noted; `not_noted` then says why.
    """
    try:
        ledger = opened.state
        same = [each for each in ledger.failures.values() if each.cause == cause]
        if same and state_of_failure(ledger, same[-1].id) == "open":
            return {"failure": same[-1].id, "not_noted": None}
        failure = _failure(opened, what, immediate, cause)
        key = f"system-failure/{cause}/{len(same)}"
        noted = opened.record("system-failure-noted", failure.id, failure, key=key)
    except ClosedcupError as error:
        return {"failure": None, "not_noted": str(error)}
    return {"failure": noted.subject, "not_noted": None}


def _failure(opened: OpenLaboratory, what: str, immediate: str, cause: str = "") -> SystemFailure:
    return SystemFailure(
        id=f"F-{len(opened.state.failures) + 1:04d}",
        what=what,
        immediate=immediate,
        noted_at=opened.clock().isoformat(),
        cause=cause,
    )


def take_action(
    opened: OpenLaboratory, failure_id: str, action: str, *, key: str | None = None
) -> Answer:
    """Record what was done so that a failure does not come back."""
    find(opened.state.failures, failure_id, "failure")
    done = CorrectiveAction(failure_id, in_words(action, "corrective"))
    opened.record("corrective-action-taken", failure_id, done, key=key)
    return _told(opened.state, failure_id)


def review_effect(
    opened: OpenLaboratory,
    failure_id: str,
    words: str,
    *,
    effective: bool,
    key: str | None = None,
) -> Answer:
    """Record whether the corrective actions worked; where they did not, the failure is open again.

    InputError where no action was taken since the last review.
    """
    if opened.recorded(key) is not None:
        return _told(opened.state, failure_id)
    ledger = opened.state
    find(ledger.failures, failure_id, "failure")
    if state_of_failure(ledger, failure_id) != "to be reviewed":
        raise InputError(
            "nothing-to-review",
            f"No corrective action on {failure_id} waits for a review of its effect.",
            where=f"failure {failure_id}",
            fix=f"Take one first: closedcup corrective {failure_id} --action …",
        )
    actions = len(ledger.corrective[failure_id])
    review = EffectivenessReview(failure_id, effective, in_words(words, "words"), actions)
    opened.record("effectiveness-reviewed", failure_id, review, key=key)
    return _told(opened.state, failure_id)


def failures(opened: OpenLaboratory) -> list[Answer]:
    """Return the register, oldest first."""
    ledger = opened.state
    return [_told(ledger, failure) for failure in ledger.failures]


def state_of_failure(ledger: Ledger, failure_id: str) -> str:
    """Return "open", "to be reviewed" once an action was taken, "closed" once that worked."""
    actions = len(ledger.corrective.get(failure_id, ()))
    reviews = ledger.effectiveness.get(failure_id, ())
    if actions > (reviews[-1].actions if reviews else 0):
        return "to be reviewed"
    return "closed" if reviews and reviews[-1].effective else "open"


def _told(ledger: Ledger, failure_id: str) -> Answer:
    failure = ledger.failures[failure_id]
    actions = ledger.corrective.get(failure_id, ())
    state = state_of_failure(ledger, failure_id)
    return {
        "id": failure.id,
        "noted_at": failure.noted_at,
        "what": failure.what,
        "immediate": failure.immediate,
        "found_by_program": bool(failure.cause),
        "corrective": [done.action for done in actions],
        "effectiveness": [
            {"effective": each.effective, "words": each.words}
            for each in ledger.effectiveness.get(failure_id, ())
        ],
        "state": state,
        "open": state == "open",
    }
