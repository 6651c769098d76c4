"""How events about the keeping of the records change the ledger: backups, failures, recomputing."""

from collections.abc import Callable
from typing import Final

from closedcup.laboratory.nonconforming import (
    CorrectiveAction,
    EffectivenessReview,
    SystemFailure,
)
from closedcup.laboratory.upkeep import (
    BackupRehearsed,
    BackupRule,
    BackupTaken,
    ResultsRecomputed,
)
from closedcup.records.encoding import from_body
from closedcup.records.events import Event
from closedcup.records.ledger import Ledger


def _back_up(ledger: Ledger, event: Event) -> None:
    ledger.last_backup = from_body(BackupTaken, event.body)


def _rehearse(ledger: Ledger, event: Event) -> None:
    ledger.last_rehearsal = (event.observed_at, from_body(BackupRehearsed, event.body))


def _decide_backups(ledger: Ledger, event: Event) -> None:
    ledger.backup_rule = from_body(BackupRule, event.body)


def _recompute(ledger: Ledger, event: Event) -> None:
    ledger.recomputed = from_body(ResultsRecomputed, event.body)


def _fail(ledger: Ledger, event: Event) -> None:
    ledger.failures[event.subject] = from_body(SystemFailure, event.body)


def _correct(ledger: Ledger, event: Event) -> None:
    done = from_body(CorrectiveAction, event.body)
    ledger.corrective[done.failure] = (*ledger.corrective.get(done.failure, ()), done)


def _review(ledger: Ledger, event: Event) -> None:
    review = from_body(EffectivenessReview, event.body)
    ledger.effectiveness[review.failure] = (
        *ledger.effectiveness.get(review.failure, ()),
        review,
    )


UPKEEP_APPLIERS: Final[dict[str, Callable[[Ledger, Event], None]]] = {
    "backup-taken": _back_up,
    "restore-rehearsed": _rehearse,
    "backup-rule-decided": _decide_backups,
    "results-recomputed": _recompute,
    "system-failure-noted": _fail,
    "corrective-action-taken": _correct,
    "effectiveness-reviewed": _review,
}
