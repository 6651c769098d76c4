"""How fast an apparatus heats and cools its cup: noted, seen at the bench, read from a trace."""

from datetime import datetime
from decimal import Decimal
from pathlib import Path
from statistics import median
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.unfinished import series_lately
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError, Refused
from closedcup.laboratory import RecordedMove
from closedcup.laboratory.cup_rates import CupRates
from closedcup.methods import CupSet, IgniterApplied, MoveWithdrawn, SpecimenLoaded
from closedcup.planning import Pace, usual_pace
from closedcup.planning.pace import pace_numbers
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

_LEAST_MOVE_C: Final = 3.0  # shorter moves are lost in the cleaning between them
_FASTEST: Final = 60.0  # °C a minute; faster is an entry made late, not a cup (judgement)
_WANTED_MOVES: Final = 3


def note_rates(
    opened: OpenLaboratory,
    apparatus: str,
    heats_c_per_min: float,
    cools_c_per_min: float,
    basis: str,
    *,
    key: str | None = None,
) -> Answer:
    """Put an apparatus's heating and cooling on record, with what they rest on."""
    find(opened.permit("cup-rates-noted").apparatus, apparatus, "apparatus")
    for rate, what in ((heats_c_per_min, "heating"), (cools_c_per_min, "cooling")):
        if not 0 < rate <= _FASTEST:
            raise InputError(
                "rate-impossible",
                f"No cup does {rate:g} °C a minute.",
                where=what,
                fix=f"Give the {what} rate in °C a minute, above 0 and at most {_FASTEST:g}.",
            )
    if not basis.strip():
        raise InputError(
            "basis-missing",
            "A rate is noted with what it rests on.",
            where="source",
            fix="Say where it is from: measured on a day, a trace, the maker's leaflet.",
        )
    rates = CupRates(
        apparatus,
        Decimal(f"{heats_c_per_min:.3g}"),
        Decimal(f"{cools_c_per_min:.3g}"),
        basis.strip(),
        opened.clock().date().isoformat(),
    )
    opened.record("cup-rates-noted", apparatus, rates, key=key)
    return rates_on_record(opened, apparatus)


def rates_on_record(opened: OpenLaboratory, apparatus: str) -> Answer:
    """Return the rates that plans use, where they are from, and what the bench's entries show."""
    ledger = opened.state
    find(ledger.apparatus, apparatus, "apparatus")
    return {
        "apparatus": apparatus,
        **rates_of(ledger, apparatus),
        "seen_at_the_bench": seen_rates(opened, apparatus),
    }


def rates_of(ledger: Ledger, apparatus: str) -> Answer:
    """Return heating and cooling of an apparatus; assumed ones are called so."""
    noted = ledger.cup_rates.get(apparatus)
    if noted is not None:
        return {
            "heats_c_per_min": float(noted.heats_c_per_min),
            "cools_c_per_min": float(noted.cools_c_per_min),
            "rates_from": noted.basis,
            "rates_known": "user",
            "rates_assumed": False,
        }
    usual = pace_numbers()
    return {
        "heats_c_per_min": usual["heats"].value,
        "cools_c_per_min": usual["cools"].value,
        "rates_from": f"assumed: no rates of {apparatus} are on record",
        "rates_known": usual["heats"].known,
        "rates_assumed": True,
    }


def pace_of(ledger: Ledger, apparatus: str, *, dwell_s: float, at_cup_c: float) -> Pace:
    """Return the pace of work at an apparatus, from its own rates where they are on record."""
    rates, usual = rates_of(ledger, apparatus), usual_pace()
    return Pace(
        heats_c_per_min=rates["heats_c_per_min"],
        cools_c_per_min=rates["cools_c_per_min"],
        cleaning_min=usual.cleaning_min,
        loading_min=usual.loading_min,
        dwell_min=dwell_s / 60,
        at_cup_c=at_cup_c,
    )


def cup_now(
    opened: OpenLaboratory, apparatus: str, room_c: float | None = None
) -> tuple[float, str]:
    """Return what the cup of an apparatus shows as far as is known, and how that is known.

    What it showed last today; the room's temperature where nothing was entered today.
    """
    room_c = pace_numbers()["room"].value if room_c is None else room_c
    now = opened.clock()
    last: tuple[datetime, float] | None = None
    for series in series_lately(opened, apparatus):
        for recorded in standing(series.moves):
            if isinstance(recorded.move, CupSet | SpecimenLoaded | IgniterApplied):
                at = datetime.fromisoformat(recorded.observed_at)
                if at.astimezone(now.tzinfo).date() == now.date() and (
                    last is None or at >= last[0]
                ):
                    last = (at, float(recorded.move.cup_c))
    if last is None:
        return room_c, f"taken as the room's {room_c:g} °C: nothing was entered today"
    at = last[0].astimezone(now.tzinfo)
    return last[1], f"showed {last[1]:g} °C at {at:%H:%M}"


def seen_rates(opened: OpenLaboratory, apparatus: str) -> Answer:
    """Return what the entries of finished steps show of heating and cooling.

    In the last 90 days, from the igniter's application to the cup being set: cleaning is in it,
    so the true rates are at least these. The median of the three fastest moves each way; None
    where there are fewer.
    """
    ways: dict[str, list[float]] = {"heats": [], "cools": []}
    for series in series_lately(opened, apparatus):
        for from_c, to_c, minutes in _travels(standing(series.moves)):
            if minutes > 0 and abs(to_c - from_c) >= _LEAST_MOVE_C:
                rate = abs(to_c - from_c) / minutes
                if rate <= _FASTEST:
                    ways["heats" if to_c > from_c else "cools"].append(rate)
    return {
        f"{way}_c_per_min": round(median(sorted(rates)[-_WANTED_MOVES:]), 2)
        if len(rates) >= _WANTED_MOVES
        else None
        for way, rates in ways.items()
    } | {"moves_up": len(ways["heats"]), "moves_down": len(ways["cools"])}


def rates_from_bench(opened: OpenLaboratory, apparatus: str) -> tuple[float, float, str]:
    """Return heating, cooling and basis as the bench's entries show them; Refused where too few."""
    seen = seen_rates(opened, apparatus)
    if seen["heats_c_per_min"] is None or seen["cools_c_per_min"] is None:
        raise Refused(
            "moves-too-few",
            f"The entries of {apparatus} hold {seen['moves_up']} moves up and "
            f"{seen['moves_down']} down that can be timed.",
            where=f"apparatus {apparatus}",
            fix=f"Three each way are needed, of {_LEAST_MOVE_C:g} °C or more; or measure once with "
            "a trace.",
        )
    basis = (
        f"measured: entries at the bench, {seen['moves_up']} moves up and {seen['moves_down']} "
        "down, cleaning included"
    )
    return seen["heats_c_per_min"], seen["cools_c_per_min"], basis


def rates_from_trace(
    opened: OpenLaboratory, apparatus: str, file: Path
) -> tuple[float, float, str]:
    """Return heating, cooling and basis as a trace of the cup shows them."""
    from closedcup.app.usecases.traces.trace_reader import read_trace
    from closedcup.app.usecases.traces.trace_table import read_table, read_trace_file
    from closedcup.app.usecases.traces.traces import trace_mapping
    from closedcup.metrology.traces.travel import travel_rates

    table = read_table(read_trace_file(file))
    mapping, _ = trace_mapping(opened, apparatus, table, {})
    found = travel_rates(read_trace(table, mapping))
    known = rates_of(opened.state, apparatus)
    parts, rates = [], {}
    for way in ("heats", "cools"):
        rate = getattr(found, f"{way}_c_per_min")
        rates[way] = known[f"{way}_c_per_min"] if rate is None else rate
        parts.append(f"{way}: {'not in the trace, as before' if rate is None else 'measured'}")
    return rates["heats"], rates["cools"], f"trace {file.name} ({'; '.join(parts)})"


def standing(moves: tuple[RecordedMove, ...]) -> list[RecordedMove]:
    """Return the moves that were not withdrawn."""
    gone = {each.move.index for each in moves if isinstance(each.move, MoveWithdrawn)}
    return [each for number, each in enumerate(moves) if number not in gone]


def _travels(moves: list[RecordedMove]) -> list[tuple[float, float, float]]:
    """Return from, to and minutes of each move of the cup between two specimens."""
    found, before = [], None
    for recorded in moves:
        at = datetime.fromisoformat(recorded.observed_at)
        if isinstance(recorded.move, IgniterApplied):
            before = (at, float(recorded.move.cup_c))
        elif isinstance(recorded.move, CupSet) and before is not None:
            minutes = (at - before[0]).total_seconds() / 60
            found.append((before[1], float(recorded.move.cup_c), minutes))
            before = None
    return found
