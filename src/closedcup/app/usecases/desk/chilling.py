"""Whether a sample is cold enough to be opened, as the records tell it."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.laboratory import Sample
from closedcup.laboratory.chilling import SampleChilling
from closedcup.planning.pace import pace_numbers
from closedcup.quantities import Temperature
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

_FRESH_MIN: Final = 60.0  # how long a sample stays as cold as it arrived (judgement)
_COLDEST_C, _WARMEST_C = -100.0, 60.0  # what a closed sample is kept at; else the unit is wrong


@dataclass(frozen=True, slots=True)
class Coldness:
    """When a sample is cold enough, whether it is chilling by now, and how that is known."""

    ready_min: float
    is_chilling: bool
    words: str


def note_chilling(
    opened: OpenLaboratory,
    sample_id: str,
    temperature: Temperature | None = None,
    *,
    key: str | None = None,
) -> Answer:
    """Record that a sample was put to chill, or what its temperature was when read."""
    find(opened.permit("sample-chilling-noted").samples, sample_id, "sample")
    read = kept_at(temperature)
    opened.record("sample-chilling-noted", sample_id, SampleChilling(sample_id, read), key=key)
    return {
        "sample": sample_id,
        "temperature_c": None if read is None else float(read),
        "noted_at": opened.clock().isoformat(),
    }


def kept_at(temperature: Temperature | None) -> Decimal | None:
    """Return a sample's temperature as read, °C; InputError for one that no sample is kept at."""
    if temperature is None:
        return None
    if not _COLDEST_C <= temperature.c <= _WARMEST_C:
        raise InputError(
            "temperature-impossible",
            f"A closed sample is not kept at {temperature.c:g} °C.",
            where="shows",
            fix="Check the reading and its unit.",
        )
    return Decimal(repr(round(temperature.c, 2)))


def last_temperature_c(ledger: Ledger, sample: Sample) -> float | None:
    """Return the temperature of a sample when it was last read, on receipt or later."""
    read = [
        noted.temperature_c
        for _, noted in ledger.chilling.get(sample.id, ())
        if noted.temperature_c is not None
    ]
    last = read[-1] if read else sample.arrived_c
    return None if last is None else float(last)


def coldness(opened: OpenLaboratory, sample: Sample, open_at_most_c: float) -> Coldness:
    """Return when a sample is at or below a temperature, from what was noted last today.

    A reading counts until the next one; a sample that was put to chill is taken as cold after the
    usual time; one that arrived cold enough within the last hour is cold.
    """
    now, usual_min = opened.clock(), pace_numbers()["chilling"].value
    begun: datetime | None = None
    cold = ""
    for moment, noted in opened.state.chilling.get(sample.id, ()):
        at = datetime.fromisoformat(moment).astimezone(now.tzinfo)
        if at.date() != now.date():
            continue
        if noted.temperature_c is None:
            begun, cold = at, ""
        elif float(noted.temperature_c) <= open_at_most_c:
            cold = f"showed {noted.temperature_c} °C at {at:%H:%M}"
        else:  # too warm: if it is chilling at all, it wants the whole time from here
            begun, cold = (None if begun is None else at), ""
    if cold:
        return Coldness(0.0, is_chilling=True, words=cold)
    if begun is not None:
        since = (now - begun).total_seconds() / 60
        words = f"put to chill at {begun:%H:%M}"
        return Coldness(max(usual_min - since, 0.0), is_chilling=True, words=words)
    if sample.arrived_c is not None and float(sample.arrived_c) <= open_at_most_c:
        arrived = datetime.fromisoformat(sample.received_at).astimezone(now.tzinfo)
        if (now - arrived).total_seconds() / 60 <= _FRESH_MIN:
            words = f"arrived at {sample.arrived_c} °C at {arrived:%H:%M}"
            return Coldness(0.0, is_chilling=True, words=words)
    known = "" if sample.arrived_c is None else f"; it arrived at {sample.arrived_c} °C"
    return Coldness(usual_min, is_chilling=False, words=f"not put to chill yet today{known}")
