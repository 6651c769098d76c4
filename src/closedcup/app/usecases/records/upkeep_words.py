"""What events about the keeping of the records say in a history."""

from collections.abc import Callable
from typing import Any, Final

UPKEEP_WORDS: Final[dict[str, Callable[[Any], str]]] = {
    "effectiveness-reviewed": lambda body: (
        f"corrective action {'worked' if body['effective'] else 'did NOT work'}: {body['words']}"
    ),
    "backup-taken": lambda body: (
        f"backup taken up to entry {body['events']} and restored once to check it: {body['file']}"
    ),
    "restore-rehearsed": lambda body: (
        f"restore rehearsed with {body['file']}: "
        + ("whole" if body["whole"] else f"it CANNOT be restored. {body['problem']}")
    ),
    "backup-rule-decided": lambda body: (
        f"a backup at least every {body['backup_days']} days, a rehearsed restore at least every "
        f"{body['rehearsal_days']} days"
    ),
    "results-recomputed": lambda body: (
        f"{body['compared']} issued results computed again by closedcup {body['program']}: "
        + (f"{len(body['differing'])} differ" if body["differing"] else "none differs")
    ),
}
