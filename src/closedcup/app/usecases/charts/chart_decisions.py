"""Record what was decided about a control chart: causes, and limits."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.charts.charting import Wishes, charted
from closedcup.app.usecases.charts.control_history import history_on_record
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.laboratory import AssignedCause, DecidedLimits

Answer = dict[str, Any]


def assign_cause(
    opened: OpenLaboratory, verification_id: str, cause: str, *, key: str | None = None
) -> AssignedCause:
    """Record why a verification came out as it did. InputError without a cause in words."""
    made = {each.id: each for history in opened.state.verifications.values() for each in history}
    verification = find(made, verification_id, "verification")
    _refuse_silence(cause, "cause")
    assigned = AssignedCause(verification.id, verification.apparatus, cause.strip())
    opened.record("cause-assigned", verification.id, assigned, key=key)
    return assigned


def decide_limits(
    opened: OpenLaboratory,
    apparatus_id: str,
    reason: str,
    *,
    method_id: str | None = None,
    since: str | None = None,
    key: str | None = None,
) -> DecidedLimits:
    """Fix a chart's limits from its verifications since one of them, or all, with the reason.

    Those with an assigned cause are left out. Refused for fewer than five.
    """
    _refuse_silence(reason, "reason")
    history = history_on_record(
        opened, apparatus_id, method_id, since=since, with_decided_limits=False
    )
    answer = charted(history, Wishes(base=len(history.values)))
    decided = DecidedLimits(
        apparatus=apparatus_id,
        designation=history.designation,
        first=history.labels[0],
        last=history.labels[-1],
        n=answer["base"],
        centre=answer["centre"],
        sigma=answer["sigma"],
        unit=history.unit,
        reason=reason.strip(),
    )
    opened.record("chart-limits-decided", apparatus_id, decided, key=key)
    return decided


def _refuse_silence(text: str, what: str) -> None:
    if not text.strip():
        raise InputError(
            f"{what}-missing",
            f"A decision about a chart needs its {what} in words.",
            where=what,
            fix=f"Write the {what}.",
        )
