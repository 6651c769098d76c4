"""Begin and end a day at an apparatus."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.verification_due import due_lines
from closedcup.app.usecases.bench.beginning import as_pressure_kind
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.laboratory import ServiceAnswer
from closedcup.laboratory.checklist import (
    Checklist,
    close_down_checklist,
    start_of_day_checklist,
)
from closedcup.laboratory.day import CloseDown, DayCard
from closedcup.methods import check_station_pressure
from closedcup.quantities import Pressure

Answer = dict[str, Any]


def start_day(
    opened: OpenLaboratory,
    apparatus_id: str,
    pressure: Pressure,
    answers: tuple[ServiceAnswer, ...],
    *,
    pressure_kind: str = "station",
    key: str | None = None,
) -> Answer:
    """Record the card of the day at an apparatus; every item must be done.

    The pressure becomes the one that series of this day begin with unless another is read.
    """
    ledger = opened.state
    apparatus = find(ledger.apparatus, apparatus_id, "apparatus")
    said = check_station_pressure(
        pressure.kpa, opened.site().altitude_m, as_pressure_kind(pressure_kind)
    )
    listed = start_of_day_checklist()
    _refuse_open(listed, answers)
    card = DayCard(
        apparatus=apparatus_id,
        day=opened.clock().date().isoformat(),
        checklist=listed.id,
        version=listed.version,
        answers=answers,
        pressure=pressure,
        pressure_kind=pressure_kind,
    )
    opened.record("day-begun", apparatus_id, card, key=key)
    return {
        "apparatus": apparatus_id,
        "day": card.day,
        "pressure": str(pressure),
        "pressure_kpa": pressure.kpa,
        "states": {
            method: str(ledger.apparatus_state(apparatus_id, method))
            for method in apparatus.methods
        },
        "warnings": [*said, *due_lines(opened, apparatus_id)],
    }


def close_down(
    opened: OpenLaboratory,
    apparatus_id: str,
    answers: tuple[ServiceAnswer, ...],
    *,
    key: str | None = None,
) -> Answer:
    """Record that work at an apparatus ended: gas off, cup clean, waste where it belongs."""
    find(opened.state.apparatus, apparatus_id, "apparatus")
    listed = close_down_checklist()
    _refuse_open(listed, answers)
    done = CloseDown(
        apparatus_id, opened.clock().date().isoformat(), listed.id, listed.version, answers
    )
    opened.record("bench-closed-down", apparatus_id, done, key=key)
    return {"apparatus": apparatus_id, "day": done.day, "closed_down": True}


def pressure_of_day(opened: OpenLaboratory, apparatus_id: str) -> tuple[Pressure, str]:
    """Return the pressure on today's card and its kind; InputError where there is no card."""
    day = opened.clock().date().isoformat()
    card = opened.state.day_cards.get((apparatus_id, day))
    if card is None:
        raise InputError(
            "pressure-missing",
            f"No start-of-day card of {apparatus_id} gives today's pressure.",
            where="pressure",
            fix=f"Make the card with: closedcup start-day {apparatus_id}, or give --pressure.",
        )
    return card.pressure, card.pressure_kind


def _refuse_open(listed: Checklist, answers: tuple[ServiceAnswer, ...]) -> None:
    still_open = listed.open_items(answers)
    if still_open:
        raise InputError(
            "checklist-incomplete",
            f"{len(still_open)} of {len(listed.items)} items are open: "
            + "; ".join(f"{item.id} ({item.what})" for item in still_open),
            where=f"checklist {listed.id}, version {listed.version}",
            fix="Do each, then say so; none is skipped.",
        )
