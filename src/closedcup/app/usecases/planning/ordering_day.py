"""The order of today's work, read from the records anew each time it is asked for."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.cup_rates import cup_now, pace_of, rates_of
from closedcup.app.usecases.apparatus.verification_due import due
from closedcup.app.usecases.bench.unfinished import tests_without_result
from closedcup.app.usecases.desk.chilling import coldness
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming.doubts import active_hold
from closedcup.app.usecases.people.qualifying import is_authorised
from closedcup.app.usecases.planning.day_tests import cup_at, day_test, held_back
from closedcup.errors import InputError, Refused
from closedcup.laboratory import ApparatusState
from closedcup.methods import method, settable
from closedcup.planning.day import DayCup, DayEntry, DayTest, day_order
from closedcup.planning.pace import pace_numbers
from closedcup.quantities import Temperature
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

_VERIFICATION_SPECIMENS = 8  # two determinations of about four specimens each (judgement)
_DWELL_S = 60.0


def order_of_the_day(
    opened: OpenLaboratory,
    *,
    chilled: Collection[str] = (),
    room: Temperature | None = None,
    analysts: Sequence[str] = (),
) -> Answer:
    """Return what to do today in which order, with times from now, and what is left out and why.

    chilled: samples that are cold enough to open now, besides what was noted of them. analysts:
    who works today, the one who asks unless given. What was done since the last time is no longer
    on the list, and a series under way counts with what it still needs, so asking again is the
    new plan.
    """
    ledger, now = opened.state, opened.clock()
    for sample in chilled:
        find(ledger.samples, sample, "sample")
    working = _working(opened, analysts)
    room_c = pace_numbers()["room"].value if room is None else room.c
    tests: list[DayTest] = []
    left_out: list[Answer] = []
    for test in tests_without_result(opened):
        why, fix = held_back(ledger, test)
        may = working if why else _authorised(ledger, working, test.method, now)
        if not may:
            why = f"Nobody who works today is authorised for {test.method}."
            fix = f"closedcup qualify PERSON --method {test.method}"
        if why:
            left_out.append({"test": test.id, "sample": test.sample, "why": why, "fix": fix})
        else:
            made = day_test(opened, test, room_c, chilled)
            tests.append(made if may == working else replace(made, analysts=tuple(may)))
    cups = [_day_cup(opened, name, tests, room_c) for name in ledger.apparatus]
    entries = day_order(tests, cups, working)
    return {
        "now": now.isoformat(),
        "analysts": working,
        "entries": [_entry(one, now) for one in entries],
        "ends": _at(now, max(one.ends_min for one in entries)) if entries else None,
        "left_out": left_out,
        "to_be_cold": [_to_be_cold(opened, one, chilled) for one in tests if _wants_cold(one)],
        "room_c": room_c,
        "apparatus": [
            {"apparatus": name, **_cup_facts(opened, name, room_c)}
            for name in ledger.apparatus
            if any(one.apparatus == name for one in entries)
        ],
        "sources": [cited.as_json(name) for name, cited in pace_numbers().items()],
    }


def _authorised(ledger: Ledger, working: list[str], method_id: str, now: datetime) -> list[str]:
    """Return who of those at work may run a method: all where no authorisation is asked for."""
    if not ledger.rules.authorisation:
        return working
    day = now.date().isoformat()
    return [name for name in working if is_authorised(ledger, name, method_id, day)]


def _wants_cold(test: DayTest) -> bool:
    return test.open_at_most_c is not None and not test.is_begun


def _to_be_cold(opened: OpenLaboratory, test: DayTest, chilled: Collection[str]) -> Answer:
    """Say how cold a sample must be before it is opened, and how it stands."""
    assert test.open_at_most_c is not None  # noqa: S101 - only those that want it come here
    known = coldness(opened, opened.state.samples[test.sample], test.open_at_most_c)
    return {
        "sample": test.sample,
        "test": test.test,
        "open_at_most_c": test.open_at_most_c,
        "cold_enough_at": _at(opened.clock(), test.ready_min),
        "is_cold": test.ready_min == 0,
        "is_chilling": test.is_chilling,
        "known": "said to be cold" if test.sample in chilled else known.words,
    }


def _working(opened: OpenLaboratory, analysts: Sequence[str]) -> list[str]:
    """Return who works today; InputError for a name twice or unknown, Refused for one held."""
    named = list(analysts) or [opened.by]
    if len(set(named)) != len(named):
        raise InputError(
            "analyst-twice",
            "An analyst is named twice.",
            where="analyst",
            fix="Name each once.",
        )
    for name in analysts:
        find(opened.state.people, name, "person")
        hold = active_hold(opened.state, "person", name)
        if hold is not None:
            raise Refused(
                "person-held",
                f"{opened.name_of(name)} is held ({hold.id}): {hold.reason}",
                where="analyst",
                fix="Leave this person out, or see to the hold.",
            )
    return named


def _cup_facts(opened: OpenLaboratory, name: str, room_c: float) -> Answer:
    at_c, known = cup_now(opened, name, room_c)
    return {"cup_now_c": at_c, "cup_now_known": known, **rates_of(opened.state, name)}


def _day_cup(opened: OpenLaboratory, name: str, tests: list[DayTest], room_c: float) -> DayCup:
    ledger, now = opened.state, opened.clock()
    at_c, _ = cup_now(opened, name, room_c)
    pace = pace_of(ledger, name, dwell_s=_DWELL_S, at_cup_c=at_c)
    planned = [one for one in tests if one.apparatus == name]
    ids = sorted({ledger.tests[one.test].method for one in planned})
    due = [(each, _verification_due(ledger, name, each, now)) for each in ids]
    due = [(each, why) for each, why in due if why]
    if not due:
        return DayCup(name, pace)
    plan = ledger.plans[planned[0].test]
    values = [
        settable(cup_at(plan, float(material.value_c)))
        for material in ledger.materials.values()
        if any(method(each).designation == method(material.method).designation for each, _ in due)
    ]
    why = " ".join(f"{each}: {words}" for each, words in due)
    if not values:
        why += " No reference material for it is on record."
    each_min = pace.loading_min + pace.dwell_min + pace.cleaning_min
    return DayCup(name, pace, why, min(values, default=None), _VERIFICATION_SPECIMENS * each_min)


def _verification_due(ledger: Ledger, name: str, method_id: str, now: datetime) -> str:
    state = ledger.apparatus_state(name, method_id)
    if state is not ApparatusState.IN_CONTROL:
        return f"{state}."
    when = due(ledger, name, method_id)
    if when is not None:  # the laboratory decided how often
        late = when.date() <= now.date()
        return f"due on {when.date().isoformat()}." if late else ""
    last = datetime.fromisoformat(ledger.verifications_for(name, method_id)[-1].verified_at)
    if last.astimezone(now.tzinfo).date() == now.date():
        return ""
    return f"last verified on {last.date().isoformat()}."


def _entry(one: DayEntry, now: datetime) -> Answer:
    return {
        "begins": _at(now, one.begins_min),
        "ends": _at(now, one.ends_min),
        "minutes": round(one.ends_min - one.begins_min, 1),
        "what": one.what,
        "apparatus": one.apparatus or None,
        "test": one.test or None,
        "sample": one.sample or None,
        "cup_c": one.cup_c,
        "analyst": one.analyst,
        "why": one.why,
    }


def _at(now: datetime, minutes: float) -> str:
    return (now + timedelta(minutes=minutes)).replace(microsecond=0).isoformat()
