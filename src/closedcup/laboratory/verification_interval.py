"""How often an apparatus is verified: an interval that the laboratory decides."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class VerificationInterval:
    """From `decided_at` on, a verification speaks for `days` days.

    apparatus: "" where it was decided for every apparatus; `days` is None where no interval is
    asked for any more.
    """

    apparatus: str
    days: int | None
    decided_at: str


def due_at(decided: Sequence[VerificationInterval], verified_at: datetime) -> datetime | None:
    """Return when the verification after one made at `verified_at` falls due; None for never.

    Each decision counts from its moment to the next one, so that none reaches back: what was due
    before it was decided becomes due at the decision. `decided` is in order.
    """
    spans = [*decided, None]
    for now, following in pairwise(spans):
        if now is None or now.days is None:
            continue
        begins = datetime.fromisoformat(now.decided_at)
        due = max(verified_at + timedelta(days=now.days), begins)
        if following is None or due < datetime.fromisoformat(following.decided_at):
            return due
    return None
