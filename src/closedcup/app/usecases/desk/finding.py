"""Find things again: samples by words, state, urgency and saved filters; and everything else."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.overview import asked_words, sample_list
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError
from closedcup.laboratory.sample_keeping import due_words
from closedcup.records.facts import SampleFilter
from closedcup.records.ledger import Ledger
from closedcup.records.projections import SampleQuery

Answer = dict[str, Any]

STATES: Final = (
    "received",
    "test requested",
    "waits for the customer",
    "planned",
    "waits for a reviewer",
    "refused by the reviewer",
    "refused by the stop list",
    "being tested",
    "held",
    "released",
    "reported",
    "disposed of",
)
"""Where a sample can stand, in the order of its life."""
FINISHED: Final = ("reported", "disposed of")
UNFINISHED: Final = tuple(state for state in STATES if state not in FINISHED)
_LOOKED_INTO: Final = 10  # samples of a search whose tests, results and reports are shown


def as_states(states: Sequence[str]) -> tuple[str, ...]:
    """Check the names of states; InputError with the list for any other word."""
    for state in states:
        if state not in STATES:
            raise InputError(
                "state-unknown",
                f"No sample is ever “{state}”.",
                where="state",
                fix=f"Say one of: {', '.join(STATES)}.",
            )
    return tuple(states)


def sample_query(
    opened: OpenLaboratory,
    words: str = "",
    *,
    states: Sequence[str] = (),
    overdue: bool = False,
    urgent: bool = False,
    limit: int | None = None,
) -> SampleQuery:
    """Return what is looked for in the list of samples.

    words: all must occur; overdue: due before today and not finished.
    """
    if limit is not None and limit < 1:
        raise InputError("limit-impossible", "At least one sample is listed.", where="limit")
    wanted = as_states(states)
    if overdue:
        wanted = tuple(state for state in wanted or UNFINISHED if state not in FINISHED)
    return SampleQuery(
        words=tuple(words.casefold().split()),
        states=wanted,
        limit=limit,
        due_before=opened.clock().date().isoformat() if overdue else "",
        urgent=urgent,
    )


def asked_query(
    opened: OpenLaboratory,
    words: str = "",
    *,
    states: Sequence[str] = (),
    overdue: bool = False,
    urgent: bool = False,
    limit: int | None = None,
    saved: str | None = None,
) -> SampleQuery:
    """Return what is looked for, by a saved filter and what was typed beside it."""
    if saved is None:
        return sample_query(
            opened, words, states=states, overdue=overdue, urgent=urgent, limit=limit
        )
    kept = filter_named(opened.state, saved)
    return sample_query(
        opened,
        f"{kept.words} {words}",
        states=states or kept.states,
        overdue=overdue or kept.overdue,
        urgent=urgent or kept.urgent,
        limit=limit,
    )


def listed(opened: OpenLaboratory, query: SampleQuery) -> list[Answer]:
    """Return the wanted samples, the newest first, each with how soon it is due in words."""
    today = opened.clock().date()
    return [with_urgency(line, today) for line in sample_list(opened, query)]


def with_urgency(line: Answer, today: date) -> Answer:
    """Add to a line of the list how soon its sample is due, and whether that is past."""
    finished = line["state"] in FINISHED
    due = line["due"] or ""
    return line | {
        "due_words": "" if finished else due_words(due, today),
        "overdue": not finished and "" < due < today.isoformat(),
    }


def save_filter(
    opened: OpenLaboratory,
    name: str,
    words: str = "",
    *,
    states: Sequence[str] = (),
    overdue: bool = False,
    urgent: bool = False,
    key: str | None = None,
) -> Answer:
    """Save a search under a name, for everybody; another of that name is replaced."""
    opened.permit("sample-filter-saved")
    saved = SampleFilter(in_words(name, "name"), words.strip(), as_states(states), overdue, urgent)
    opened.record("sample-filter-saved", saved.name, saved, key=key)
    return filter_answer(saved)


def drop_filter(opened: OpenLaboratory, name: str, *, key: str | None = None) -> Answer:
    """Drop a saved filter."""
    ledger = opened.permit("sample-filter-saved")
    if opened.recorded(key) is not None:
        return {"name": name, "dropped": True}
    saved = replace(filter_named(ledger, name), dropped=True)
    opened.record("sample-filter-saved", name, saved, key=key)
    return filter_answer(saved)


def filter_named(ledger: Ledger, name: str) -> SampleFilter:
    """Return a saved filter; InputError where there is none of that name."""
    return find(ledger.sample_filters, name, "filter")


def saved_filters(opened: OpenLaboratory) -> list[Answer]:
    """Return the saved filters by name."""
    return [filter_answer(each) for _, each in sorted(opened.state.sample_filters.items())]


def filter_answer(saved: SampleFilter) -> Answer:
    """Return a saved filter as commands print it."""
    return {
        "name": saved.name,
        "words": saved.words,
        "states": list(saved.states),
        "overdue": saved.overdue,
        "urgent": saved.urgent,
        "dropped": saved.dropped,
    }


def search(opened: OpenLaboratory, words: str, *, limit: int = 50) -> list[Answer]:
    """Return everything on record in which all words occur: what it is, its id, and what it says.

    Samples, tests, results, reports; apparatus, reference materials, people, holds, disputes.
    """
    wanted = tuple(in_words(words, "words").casefold().split())
    ledger = opened.state
    query = SampleQuery(words=wanted, limit=limit)
    rows = sample_list(opened, query)
    samples = [
        _hit("sample", row["id"], f"{row['description']}; {row['customer']}; {row['state']}")
        for row in rows
    ]
    made = [
        hit
        for row in rows[:_LOOKED_INTO]
        for hit in _made_of(ledger, row["id"])
        if _occur(wanted, hit)
    ]
    common = [hit for hit in _common(opened, ledger) if _occur(wanted, hit)]
    return [*common, *samples, *made]


def _hit(what: str, identifier: str, says: str, sample: str = "") -> Answer:
    return {"what": what, "id": identifier, "says": says, "sample": sample or None}


def _occur(words: Sequence[str], hit: Answer) -> bool:
    text = f"{hit['what']} {hit['id']} {hit['says']} {hit['sample'] or ''}".casefold()
    return all(word in text for word in words)


def _made_of(ledger: Ledger, sample: str) -> Iterator[Answer]:
    for test in ledger.tests_of(sample):
        yield _hit("test", test.id, f"{test.method}: {asked_words(test)}", sample)
        for result in ledger.results_of(test.id):
            yield _hit("result", result.id, result.statement, sample)
            report = ledger.report_on(result.id)
            if report is not None:
                says = f"on {result.id}, {report.issued_at[:10]}"
                yield _hit("report", report.number, says, sample)


def _common(opened: OpenLaboratory, ledger: Ledger) -> Iterator[Answer]:
    for each in ledger.apparatus.values():
        yield _hit(
            "apparatus", each.id, f"{each.description}, serial {each.serial}, {each.location}"
        )
    for material in ledger.materials.values():
        says = f"{material.liquid}, lot {material.lot}, {material.certificate}"
        yield _hit("reference material", material.id, says)
    names = opened.store.names()
    for person in ledger.people:
        roles = ", ".join(sorted(ledger.roles.get(person, ())))
        yield _hit("person", person, f"{names.get(person, person)}, {roles}")
    for hold in ledger.holds.values():
        over = ", lifted" if hold.id in ledger.lifted else ""
        yield _hit("hold", hold.id, f"{hold.kind} {hold.subject}: {hold.reason}{over}")
    for dispute in ledger.disputes.values():
        over = ", settled" if dispute.id in ledger.settled else ""
        says = f"{dispute.result}, by {dispute.raised_by}: {dispute.reason}{over}"
        yield _hit("dispute", dispute.id, says)
