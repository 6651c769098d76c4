"""The history of a sample, a test, a result, an apparatus or a person, in words."""

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.words import DESK_WORDS
from closedcup.app.usecases.records.upkeep_words import UPKEEP_WORDS
from closedcup.app.usecases.uncertainty.metrology_words import METROLOGY_WORDS
from closedcup.errors import InputError
from closedcup.records import Event
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def history_of(
    opened: OpenLaboratory, subject: str, *, known_at: datetime | None = None
) -> list[Answer]:
    """Return what happened to one thing, in the order of recording.

    A sample's history holds its tests, series, results and reports; an apparatus's its
    verifications and the series made on it; a person's what that person entered or saw.
    `known_at` leaves out what was recorded later: the history as it was known then. Raises
    InputError for an id that the records do not hold.
    """
    pool = _pool(opened, subject)
    events = [event for event in pool if _is_known(event, known_at)]
    about = _related(events, subject)
    found = [event for event in events if event.subject in about or subject in _people(event)]
    if not found:
        raise InputError(
            "subject-unknown",
            f"The records hold nothing about “{subject}”"
            + ("." if known_at is None else f" up to {known_at.isoformat()}."),
            where="history",
            fix="Name a sample, a test, a series, a result, a report, an apparatus or a person.",
        )
    names = opened.store.names()
    return [
        {
            "number": event.seq,
            "observed_at": event.observed_at,
            "recorded_at": event.recorded_at,
            "by": names.get(event.by, event.by),
            "what": _words(event),
            "subject": event.subject,
            "reason": event.reason,
            "program": event.program,
        }
        for event in found
    ]


def _pool(opened: OpenLaboratory, subject: str) -> Iterable[Event]:
    """Return the events among which a subject's history lies.

    For a sample and what was made of it those of the sample and the common ones; for anything
    else all events.
    """
    sample = _sample_of(opened.state, subject)
    if sample is None:
        return opened.store.read()
    events = (*opened.events_of(sample), *opened.common_events())
    return sorted(events, key=lambda event: event.seq)


def _sample_of(ledger: Ledger, subject: str) -> str | None:
    """Return the sample that something is, or was made of; None for anything else."""
    if subject in ledger.samples:
        return subject
    if subject in ledger.reports:
        subject = ledger.reports[subject].result
    if subject in ledger.results:
        subject = ledger.results[subject].test
    elif subject in ledger.series:
        subject = ledger.series[subject].test
    return ledger.tests[subject].sample if subject in ledger.tests else None


def _is_known(event: Event, known_at: datetime | None) -> bool:
    if known_at is None:
        return True
    return datetime.fromisoformat(event.recorded_at) <= known_at.astimezone(UTC)


def _people(event: Event) -> set[str]:
    named = {event.body.get(key) or event.by for key in ("observed_by", "reviewer", "person")}
    return named | {event.by}


_LINKS = ("sample", "test", "series", "result", "apparatus", "subject", "hold")
"""The keys by which a body names what it belongs to."""


def _related(events: Iterable[Event], subject: str) -> set[str]:
    """Return the subject and everything whose body names it, or names what names it.

    A test belongs to its sample and not the other way round: an apparatus's history does not
    pull in the samples tested on it.
    """
    about = {subject}
    for event in events:
        if any(event.body.get(link) in about for link in _LINKS):
            about.add(event.subject)
    return about


def _temperature(body: Any) -> str:
    return f"{float(body['move']['cup_c']):g} °C"


_WORDS: dict[str, Callable[[Any], str]] = {
    "laboratory-established": lambda body: f"laboratory established: {body['name']}",
    "name-erased": lambda body: f"name erased: {body['reason']}",
    "person-registered": lambda body: f"registered as {body['role']}",
    "role-given": lambda body: f"given the role {body['role']}",
    "role-taken": lambda body: f"role {body['role']} taken",
    "account-made": lambda _: "account made",
    "account-disabled": lambda _: "account disabled",
    "account-enabled": lambda _: "account enabled again",
    "account-recovered": lambda _: "account got back at the console, without signing in",
    "password-given": lambda _: "given a new password",
    "password-changed": lambda _: "changed the own password",
    "working-rules-decided": lambda body: (
        f"four eyes {'asked for' if body['four_eyes'] else 'not asked for'}; authorisation for "
        f"methods {'asked for' if body['authorisation'] else 'not asked for'}"
    ),
    "qualification-granted": lambda body: (
        f"authorised for {body['method']} until {body['until']}: {body['evidence']}"
    ),
    "qualification-withdrawn": lambda body: f"authorisation withdrawn: {body['reason']}",
    "result-signed": lambda body: (
        f"signed as {body['meaning']}: entry {body['signed_number']}, seal "
        f"{body['signed_seal'][:16]}…"
    ),
    "apparatus-registered": lambda body: f"apparatus registered: {body['description']}",
    "service-items-answered": lambda body: f"{len(body['answers'])} checklist items answered",
    "apparatus-put-into-service": lambda body: (
        f"put into service (checklist {body['checklist']}, version {body['version']})"
    ),
    "probe-checked": lambda body: (
        f"probe correction {body['correction_c']} °C"
        if body["correction_c"] is not None
        else "probe correction: none on record"
    ),
    "cup-rates-noted": lambda body: (
        f"cup heats {body['heats_c_per_min']} and cools {body['cools_c_per_min']} °C/min "
        f"({body['basis']})"
    ),
    "reference-material-received": lambda body: (
        f"reference material {body['liquid']}, lot {body['lot']}: {body['value_c']} °C"
    ),
    "apparatus-verified": lambda body: (
        f"verified with {body['material']}: difference {float(body['difference_c']):+.2f} °C, "
        f"permitted ± {float(body['permitted_c']):.2f} °C, "
        + ("in control" if body["in_control"] else "OUT OF CONTROL")
    ),
    "day-begun": lambda body: (
        f"day begun, {body['pressure']['value']} {body['pressure']['unit']} "
        f"({body['pressure_kind']})"
    ),
    "bench-closed-down": lambda _: "closed down",
    "sample-received": lambda body: f"received: {body['description']}, {body['volume_ml']} mL",
    "evidence-recorded": lambda body: f"{body['name']} = {body['value']} ({body['method']})",
    "sample-chilling-noted": lambda body: (
        "put to chill"
        if body["temperature_c"] is None
        else f"the sample showed {body['temperature_c']} °C"
    ),
    "composition-recorded": lambda body: (
        f"composition {body['trust']}: "
        + ", ".join(f"{part['name']} {part['fraction']}" for part in body["components"])
    ),
    "outside-result-recorded": lambda body: (
        f"result from outside for {body['sample']}: {body['given']} by {body['method']}"
    ),
    "own-liquid-recorded": lambda body: f"own values of {body['liquid']} recorded",
    "import-mapping-kept": lambda body: f"kept how lists of {body['kind']} are read",
    "file-imported": lambda body: (
        f"file {body['name']} taken in: {body['new']} new rows, {body['known']} known, "
        f"{body['refused']} refused"
    ),
    "test-requested": lambda body: f"test requested: {body['method']}, {body['kind']}",
    "plan-made": lambda body: (
        f"planned: start at {float(body['start_cup_c']):g} °C in the cup; stop list: "
        f"{body['decision']}"
    ),
    "hazards-reviewed": lambda body: (
        f"{'may proceed' if body['proceed'] else 'refused'} by the reviewer: {body['conditions']}"
    ),
    "series-begun": lambda body: (
        f"series begun on {body['apparatus']} at {body['pressure']['value']} "
        f"{body['pressure']['unit']}"
    ),
    "cup-set": lambda body: f"cup set to {_temperature(body)}",
    "specimen-loaded": lambda body: (
        f"specimen {body['move']['specimen']} loaded, {float(body['move']['volume_ml']):g} mL, "
        f"cup {_temperature(body)}"
    ),
    "cup-recovered": lambda body: f"cup at its temperature again, {_temperature(body)}",
    "ramp-started": lambda body: f"heating started at {_temperature(body)}",
    "igniter-applied": lambda body: (
        f"igniter applied, cup {body['reading']['displayed_c']} °C: {body['move']['eye']}"
    ),
    "entry-withdrawn": lambda body: f"entry {body['move']['index']} withdrawn",
    "deviation-noted": lambda body: f"deviation: {body['move']['text']}",
    "series-ended": lambda body: f"series ended early: {body['move']['reason']}",
    "result-issued": lambda body: f"result issued: {body['statement']}",
    "result-classified": lambda body: (
        f"classified under {len(body['answers'])} regimes"
        if body["answers"]
        else "no class was given"
    ),
    "result-released": lambda _: "result released",
    "result-held": lambda body: f"result held: {' '.join(body['reasons'])}",
    "file-kept": lambda body: f"file kept: {body['name']}",
    "report-issued": lambda body: (
        f"report issued, document {body['document_sha256'][:16]}…, seal {body['seal_number']}"
        + (f"; it replaces {body['replaces']}: {body['changes']}" if body.get("replaces") else "")
    ),
    "result-superseded": lambda body: (
        f"result superseded: {body['reason']}; told: {', '.join(body['told']) or 'nobody'}"
    ),
    "hold-placed": lambda body: (
        f"{body['kind']} {body['subject']} held: {body['reason']}"
        + (f" (since {body['since']})" if body["since"] else "")
    ),
    "hold-lifted": lambda body: (
        f"hold lifted: {body['reason']}; the results it flagged "
        + ("stand" if body["results_stand"] else "are to be reviewed")
    ),
    "result-let-stand": lambda body: (
        f"reviewed against {', '.join(body['holds'])} and stands: {body['reason']}"
    ),
    "result-disputed": lambda body: f"disputed by {body['raised_by']}: {body['reason']}",
    "dispute-settled": lambda body: f"dispute settled: {body['reason']}",
    "system-failure-noted": lambda body: (
        f"system failure: {body['what']}; at once: {body['immediate']}"
    ),
    "corrective-action-taken": lambda body: f"corrective action: {body['action']}",
    **UPKEEP_WORDS,
    **METROLOGY_WORDS,
    **DESK_WORDS,
}


def _words(event: Event) -> str:
    """Say what an event says; a kind without words of its own is said by its name."""
    say = _WORDS.get(event.type)
    return event.type.replace("-", " ") if say is None else say(event.body)
