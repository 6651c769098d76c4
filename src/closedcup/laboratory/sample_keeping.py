"""How a sample is kept: who has it, when it was opened, what is left, how long, how it ends."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final, Literal, TypeVar, get_args

Priority = Literal["urgent", "routine"]
PRIORITIES: Final = get_args(Priority)
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class HandedOver:
    """A sample went from one holder to the next, and where it stands since.

    `giver` and `taker`: ids of persons, or words for somebody outside (a courier, the customer).
    """

    sample: str
    giver: str
    taker: str
    place: str


@dataclass(frozen=True, slots=True)
class SampleOpened:
    """A container was opened: how cold it was (None where nobody read it), and what for."""

    sample: str
    temperature_c: Decimal | None
    why: str


@dataclass(frozen=True, slots=True)
class VolumeNoted:
    """What is left as measured, and why it was looked at; it replaces the reckoned volume.

    `drawn_ml`: what the specimens loaded until then had drawn by the record.
    """

    sample: str
    left_ml: Decimal
    drawn_ml: float
    why: str


@dataclass(frozen=True, slots=True)
class KeepingAgreed:
    """What was agreed anew of a sample: how soon, how long it is kept, how much is kept back."""

    sample: str
    priority: str
    due: str
    keep_until: str
    keep_days: int | None
    kept_back_ml: Decimal | None
    reason: str


@dataclass(frozen=True, slots=True)
class ConditionQuestioned:
    """The condition of a sample makes its results doubtful; the customer is to be asked."""

    sample: str
    what: str


@dataclass(frozen=True, slots=True)
class GoAhead:
    """What the customer said of testing a sample in a poor condition: who, when, by which way."""

    sample: str
    customer: str
    said_at: str
    way: str
    proceed: bool
    words: str


@dataclass(frozen=True, slots=True)
class OutOfSpecificationTold:
    """The customer was told that a result is outside its limit: who, when, how, what they said."""

    sample: str
    result: str
    told: str
    told_at: str
    way: str
    said: str


@dataclass(frozen=True, slots=True)
class SampleDisposed:
    """A sample is gone: how, as which waste, with which cautions; why, where it was early."""

    sample: str
    how: str
    waste_class: str
    cautions: tuple[str, ...]
    left_ml: float
    early_because: str


KeepingFact = (
    HandedOver
    | SampleOpened
    | VolumeNoted
    | KeepingAgreed
    | ConditionQuestioned
    | GoAhead
    | OutOfSpecificationTold
    | SampleDisposed
)


@dataclass(frozen=True, slots=True)
class KeepingEntry:
    """A fact about the keeping of a sample, when it was so, by whom it was entered, and its number.

    `seq` is the number of its event.
    """

    at: str
    by: str
    seq: int
    fact: KeepingFact


def entries_of(log: tuple[KeepingEntry, ...], kind: type[T]) -> list[tuple[KeepingEntry, T]]:
    """Return the entries of one kind with their facts, in order."""
    return [(each, each.fact) for each in log if isinstance(each.fact, kind)]


def last_of(log: tuple[KeepingEntry, ...], kind: type[T]) -> T | None:
    """Return the last fact of a kind; None where there is none."""
    found = entries_of(log, kind)
    return found[-1][1] if found else None


def waits_for_customer(log: tuple[KeepingEntry, ...], *, questioned_on_receipt: bool) -> bool:
    """Say whether testing waits: the condition was questioned and nobody said go ahead since."""
    waits = questioned_on_receipt
    for each in log:
        if isinstance(each.fact, ConditionQuestioned):
            waits = True
        elif isinstance(each.fact, GoAhead):
            waits = not each.fact.proceed
    return waits


def kept_until(keep_until: str, keep_days: int | None, reported_on: date | None) -> date | None:
    """Return the last day of keeping; None where it is not agreed or has not begun.

    keep_until: a day; else keep_days count from the last report, reported_on.
    """
    if keep_until:
        return date.fromisoformat(keep_until)
    if keep_days is None or reported_on is None:
        return None
    return reported_on + timedelta(days=keep_days)


def due_words(due: str, today: date) -> str:
    """Say how soon a day is; empty where none was agreed."""
    if not due:
        return ""
    days = (date.fromisoformat(due) - today).days
    if days < 0:
        return f"overdue by {-days} day{'' if days == -1 else 's'}"
    return {0: "due today", 1: "due tomorrow"}.get(days, f"due in {days} days")
