"""The chain of custody: who has a sample and where it stands, each opening, and what is left."""

from decimal import Decimal

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.chilling import kept_at
from closedcup.app.usecases.desk.view import Answer, keeping_of
from closedcup.app.usecases.desk.volumes import drawn_ml, volume_left_ml
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import Conflict, InputError, Refused
from closedcup.laboratory import Sample
from closedcup.laboratory.sample_keeping import (
    HandedOver,
    SampleDisposed,
    SampleOpened,
    VolumeNoted,
    entries_of,
    last_of,
)
from closedcup.quantities import Temperature, Volume
from closedcup.records.ledger import Ledger


def hand_over(
    opened: OpenLaboratory,
    sample_id: str,
    taker: str,
    place: str,
    *,
    giver: str | None = None,
    seen: int | None = None,
    key: str | None = None,
) -> Answer:
    """Record who took a sample and where it stands now.

    giver: who had it, by the record unless given. taker: a person's id, or words for somebody
    outside. seen: the number of the last entry that was looked at.
    """
    if opened.recorded(key) is not None:
        return keeping_of(opened, sample_id)
    ledger = opened.permit("sample-handed-over")
    sample = _there(ledger, sample_id, seen)
    holder = holder_of(ledger, sample.id)
    taken = HandedOver(
        sample=sample.id,
        giver=(giver or "").strip() or holder or opened.by,
        taker=in_words(taker, "to"),
        place=in_words(place, "place"),
    )
    if taken.giver == taken.taker and holder != "":
        _refuse_unmoved(ledger, taken)
    opened.record("sample-handed-over", sample.id, taken, key=key)
    return keeping_of(opened, sample_id)


def _refuse_unmoved(ledger: Ledger, taken: HandedOver) -> None:
    last = last_of(ledger.keeping.get(taken.sample, ()), HandedOver)
    if last is not None and (last.taker, last.place) == (taken.taker, taken.place):
        raise InputError(
            "not-moved",
            f"{taken.sample} is with {taken.taker} at {taken.place} already.",
            where="to",
            fix="Say who takes it, or where it stands now.",
        )


def open_sample(
    opened: OpenLaboratory,
    sample_id: str,
    why: str,
    temperature: Temperature | None = None,
    *,
    seen: int | None = None,
    key: str | None = None,
) -> Answer:
    """Record that a container was opened: how cold it was, and what for.

    Conflict where another person has the sample by the record, or where somebody entered
    something about it since entry `seen` was looked at.
    """
    if opened.recorded(key) is not None:
        return keeping_of(opened, sample_id)
    ledger = opened.permit("sample-opened")
    sample = _there(ledger, sample_id, seen)
    holder = holder_of(ledger, sample.id)
    if holder not in ("", opened.by):
        raise Conflict(
            "held-by-another",
            f"By the record {opened.name_of(holder)} has {sample.id}.",
            where=f"sample {sample.id}",
            fix=f"Hand it over first, here or by: closedcup hand-over {sample.id} --to {opened.by} "
            "--place …",
        )
    fact = SampleOpened(sample.id, kept_at(temperature), in_words(why, "why"))
    opened.record("sample-opened", sample.id, fact, key=key)
    return keeping_of(opened, sample_id)


def note_left(
    opened: OpenLaboratory,
    sample_id: str,
    left: Volume,
    why: str,
    *,
    seen: int | None = None,
    key: str | None = None,
) -> Answer:
    """Record what is left as measured; specimens draw on that from now on."""
    if opened.recorded(key) is not None:
        return keeping_of(opened, sample_id)
    ledger = opened.permit("sample-volume-noted")
    sample = _there(ledger, sample_id, seen)
    if left.ml < 0:
        raise InputError(
            "volume-negative",
            f"{left.ml:g} mL cannot be left of {sample.id}.",
            where="volume",
            fix=f"By the record {max(volume_left_ml(ledger, sample), 0.0):g} mL are left; enter "
            "what is in the container, 0 mL at the least.",
        )
    left_ml = Decimal(repr(left.ml))
    fact = VolumeNoted(sample.id, left_ml, drawn_ml(ledger, sample.id), in_words(why, "why"))
    opened.record("sample-volume-noted", sample.id, fact, key=key)
    return keeping_of(opened, sample_id)


def holder_of(ledger: Ledger, sample: str) -> str:
    """Return who has a sample by the record; empty where it was never handed over."""
    last = last_of(ledger.keeping.get(sample, ()), HandedOver)
    return "" if last is None else last.taker


def refuse_disposed(ledger: Ledger, sample: str) -> None:
    """Raise Refused where a sample is gone."""
    gone = entries_of(ledger.keeping.get(sample, ()), SampleDisposed)
    if gone:
        entry, how = gone[-1]
        raise Refused(
            "sample-disposed",
            f"{sample} was disposed of on {entry.at[:10]}: {how.how}.",
            where=f"sample {sample}",
            fix="If the customer has more of it, receive that as a sample of its own.",
        )


def refuse_overtaken(ledger: Ledger, sample: str, seen: int | None) -> None:
    """Raise Conflict where an entry about a sample's keeping came after the one last seen."""
    log = ledger.keeping.get(sample, ())
    if seen is None or not log or log[-1].seq <= seen:
        return
    raise Conflict(
        "overtaken",
        f"Somebody entered something on {sample} meanwhile: entry {log[-1].seq}, by "
        f"{log[-1].by}, at {log[-1].at[11:16]}.",
        where=f"sample {sample}",
        fix="Look at it, then enter yours again.",
    )


def _there(ledger: Ledger, sample_id: str, seen: int | None) -> Sample:
    sample: Sample = find(ledger.samples, sample_id, "sample")
    refuse_disposed(ledger, sample.id)
    refuse_overtaken(ledger, sample.id, seen)
    return sample
