"""Complete what was typed about a verification from the records, and check it."""

from dataclasses import replace
from datetime import date, datetime
from typing import Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.laboratory import VerificationConditions
from closedcup.methods import check_station_pressure, correction_c
from closedcup.methods.barometer import barometer_numbers
from closedcup.records.ledger import Ledger

# No flash point method heats a cup faster than 17 °C/min on its way up (D92, memory).
_FASTEST: Final = 20.0
_WRITTEN_TO_C: Final = 0.05  # a correction is written to 0.1 °C


def completed(
    opened: OpenLaboratory, apparatus_id: str, typed: VerificationConditions
) -> tuple[VerificationConditions, tuple[str, ...]]:
    """Fill in what the records know and return what is worth a warning.

    From the records: the pressure on the card of the day, who records it, its order among the
    day's verifications, the probe's last check. Raises InputError for a pressure that cannot be the
    station's, a rate that no cup has, an order below 1, an operator who is not on record.
    """
    ledger, now = opened.state, opened.clock()
    card = ledger.day_cards.get((apparatus_id, now.date().isoformat()))
    pressure = typed.pressure or (card.pressure if card is not None else None)
    if typed.operator:
        find(ledger.people, typed.operator, "person")
    _check_numbers(typed)
    probe = ledger.probes.get(apparatus_id)
    filled = replace(
        typed,
        pressure=pressure,
        operator=typed.operator or opened.by,
        order_in_day=typed.order_in_day or 1 + _results_made_on(ledger, apparatus_id, now.date()),
        probe_checked_on=typed.probe_checked_on or ("" if probe is None else probe.checked_on),
    )
    said: tuple[str, ...] = ()
    if pressure is not None:
        said = check_station_pressure(pressure.kpa, opened.site().altitude_m)
        said += _correction_warnings(filled, pressure.kpa)
    return filled, said


def _check_numbers(typed: VerificationConditions) -> None:
    rate = typed.heating_rate_c_per_min
    if rate is not None and not 0 < rate <= _FASTEST:
        raise InputError(
            "rate-impossible",
            f"No method heats at {rate:g} °C a minute.",
            where="heating rate",
            fix=f"Give °C a minute, above 0 and at most {_FASTEST:g}.",
        )
    if typed.order_in_day is not None and typed.order_in_day < 1:
        raise InputError(
            "order-below-one",
            "The first result of a day has the order 1.",
            where="order in the day",
            fix="Count from 1.",
        )


def _results_made_on(ledger: Ledger, apparatus_id: str, day: date) -> int:
    return sum(
        len(each.results_c)
        for each in ledger.verifications.get(apparatus_id, ())
        if datetime.fromisoformat(each.verified_at).date() == day
    )


def _correction_warnings(made: VerificationConditions, pressure_kpa: float) -> tuple[str, ...]:
    if made.correction_applied_c is None:
        return ()
    applied_c = float(made.correction_applied_c)
    if not differs_from_formula(applied_c, pressure_kpa):
        return ()
    text = (
        f"{applied_c:+.2f} °C was added for pressure; at {pressure_kpa:.1f} kPa the formula gives "
        f"{correction_c(pressure_kpa):+.2f} °C. Find out who corrects: the apparatus, the analyst, "
        "or both."
    )
    return (text,)


def differs_from_formula(applied_c: float, pressure_kpa: float) -> bool:
    """Say whether what was added for pressure is something else than the correction."""
    numbers = barometer_numbers()
    barometer_c = numbers.correction_per_kpa.value * numbers.barometer_accuracy.value
    return abs(applied_c - correction_c(pressure_kpa)) > barometer_c + _WRITTEN_TO_C
