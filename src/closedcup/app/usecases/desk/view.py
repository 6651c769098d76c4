"""How a sample is kept, as the records tell it: one object for pages, commands and programs."""

from datetime import date
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.chilling import last_temperature_c
from closedcup.app.usecases.desk.volumes import shortage_words, volume_left_ml
from closedcup.app.usecases.lookup import find
from closedcup.laboratory import Sample
from closedcup.laboratory.sample_keeping import (
    ConditionQuestioned,
    GoAhead,
    HandedOver,
    KeepingAgreed,
    OutOfSpecificationTold,
    SampleDisposed,
    SampleOpened,
    VolumeNoted,
    due_words,
    entries_of,
)
from closedcup.records.ledger import Ledger
from closedcup.records.standing import retention_end, standing_of_sample, waits

Answer = dict[str, Any]

_FINISHED: Final = ("reported", "disposed of")


def keeping_of(opened: OpenLaboratory, sample_id: str) -> Answer:
    """Return who has a sample, its openings, what is left, what was agreed and what was said."""
    ledger = opened.state
    sample = find(ledger.samples, sample_id, "sample")
    log, today = ledger.keeping.get(sample_id, ()), opened.clock().date()
    until, finished = retention_end(ledger, sample), standing_of_sample(ledger, sample).state
    custody = [
        {"at": entry.at, "entered_by": entry.by, "from": fact.giver, "to": fact.taker}
        | {"place": fact.place}
        for entry, fact in entries_of(log, HandedOver)
    ]
    return {
        "sample": sample_id,
        "last_entry": log[-1].seq if log else 0,
        "priority": sample.priority or "routine",
        "due": sample.due or None,
        "due_words": "" if finished in _FINISHED else due_words(sample.due, today),
        "holder": custody[-1]["to"] if custody else None,
        "place": custody[-1]["place"] if custody else None,
        "custody": custody,
        "openings": [
            {"at": entry.at, "by": entry.by, "why": fact.why}
            | {"temperature_c": None if fact.temperature_c is None else float(fact.temperature_c)}
            for entry, fact in entries_of(log, SampleOpened)
        ],
        "last_temperature_c": last_temperature_c(ledger, sample),
        "volume_left_ml": volume_left_ml(ledger, sample),
        "kept_back_ml": None if sample.kept_back_ml is None else float(sample.kept_back_ml),
        "volumes_noted": [
            {"at": entry.at, "by": entry.by, "left_ml": float(fact.left_ml), "why": fact.why}
            for entry, fact in entries_of(log, VolumeNoted)
        ],
        "warnings": shortage_words(ledger, sample),
        "keep_days": sample.keep_days,
        "keep_until": None if until is None else until.isoformat(),
        "retention": retention_words(ledger, sample, today),
        "agreed_anew": [
            {"at": entry.at, "by": entry.by, "reason": fact.reason}
            for entry, fact in entries_of(log, KeepingAgreed)
        ],
        "condition_questioned": _questioned(sample, ledger),
        "waits_for_customer": waits(ledger, sample),
        "customer_said": [
            {"from": fact.customer, "at": fact.said_at, "way": fact.way}
            | {"proceed": fact.proceed, "words": fact.words, "entered_by": entry.by}
            for entry, fact in entries_of(log, GoAhead)
        ],
        "told_out_of_specification": [
            {"result": fact.result, "told": fact.told, "at": fact.told_at, "way": fact.way}
            | {"said": fact.said, "entered_by": entry.by}
            for entry, fact in entries_of(log, OutOfSpecificationTold)
        ],
        "disposed": next(
            (
                {"at": entry.at, "by": entry.by, "how": fact.how, "waste_class": fact.waste_class}
                | {"early_because": fact.early_because, "left_ml": fact.left_ml}
                for entry, fact in entries_of(log, SampleDisposed)
            ),
            None,
        ),
    }


def _questioned(sample: Sample, ledger: Ledger) -> list[str]:
    log = ledger.keeping.get(sample.id, ())
    on_receipt = [sample.condition] if sample.in_doubt else []
    return on_receipt + [fact.what for _, fact in entries_of(log, ConditionQuestioned)]


def retention_words(ledger: Ledger, sample: Sample, today: date) -> str:
    """Say how long a sample is kept."""
    until = retention_end(ledger, sample)
    if until is not None:
        return f"kept until {until}" if until >= today else f"was to be kept until {until}"
    if sample.keep_days is not None:
        return f"kept {sample.keep_days} days from the last report, which is not issued yet"
    return "no retention was agreed"
