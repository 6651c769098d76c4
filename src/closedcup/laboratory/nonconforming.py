"""Nonconforming work: what is held and why, what was superseded, disputed, or failed.

Nothing here changes an earlier value: each says something about it, with the reason.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, get_args

from closedcup.errors import InputError

HoldKind = Literal["apparatus", "material", "person"]
HOLD_KINDS: Final = get_args(HoldKind)


@dataclass(frozen=True, slots=True)
class Hold:
    """An apparatus, a lot of reference material or a person whose work is in doubt.

    `since` is from when; empty means back to the last good check.
    """

    id: str
    kind: HoldKind
    subject: str
    reason: str
    held_at: str
    since: str = ""


@dataclass(frozen=True, slots=True)
class HoldLifted:
    """A hold that is over, and why; `results_stand` says what becomes of the results it flagged."""

    hold: str
    reason: str
    results_stand: bool
    lifted_at: str


@dataclass(frozen=True, slots=True)
class ResultStands:
    """A flagged result, reviewed: it stands against these holds, and why."""

    result: str
    holds: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Supersession:
    """A result that no longer counts: why, who was told, and when. A new one will name it."""

    result: str
    reason: str
    told: tuple[str, ...]
    superseded_at: str


@dataclass(frozen=True, slots=True)
class Dispute:
    """A result that somebody does not accept; `claimed_c` is their own value, if they have one."""

    id: str
    result: str
    raised_by: str
    reason: str
    claimed_c: Decimal | None
    disputed_at: str


@dataclass(frozen=True, slots=True)
class DisputeSettled:
    """How a dispute ended."""

    dispute: str
    reason: str


@dataclass(frozen=True, slots=True)
class SystemFailure:
    """A failure of the system that keeps the laboratory's data, and what was done at once.

    `cause` marks one that the program found itself, so that it is not noted twice.
    """

    id: str
    what: str
    immediate: str
    noted_at: str
    cause: str = ""


@dataclass(frozen=True, slots=True)
class CorrectiveAction:
    """What was done so that a failure does not come back."""

    failure: str
    action: str


@dataclass(frozen=True, slots=True)
class EffectivenessReview:
    """Whether the corrective actions taken so far (so many) worked, and how that was seen."""

    failure: str
    effective: bool
    words: str
    actions: int


def parse_hold_kind(text: str) -> HoldKind:
    """Return what a hold is placed on, or raise InputError with the list."""
    for kind in HOLD_KINDS:
        if kind == text.strip().lower():
            found: HoldKind = kind
            return found
    raise InputError(
        "hold-kind-unknown",
        f"A hold is not placed on “{text}”.",
        where="hold",
        fix=f"Name one of: {', '.join(HOLD_KINDS)} (material: a lot of reference material).",
    )
