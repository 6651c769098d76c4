"""How the records are kept, whether they are intact, and the rule for backups."""

from starlette.responses import Response

from closedcup.app.usecases.records import backups, records
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import InputError
from closedcup.records.chain import Head, format_seal


def show(visit: Visit, status: int = 200) -> Response:
    """Check every seal now, and say how commits are made safe; damage is noted as a failure."""
    found = records.check_records(visit.opened)
    if not found["intact"]:
        found |= records.note_damage(visit.opened, found)
    facts = records.status(visit.opened)
    return page(
        visit,
        "status.html",
        status=status,
        form=visit.form,
        status_facts=facts,
        kept=facts["backups"],
        printed_seal=format_seal(Head(facts["events"], facts["seal"])),
        check=found,
    )


def decide_backups(visit: Visit) -> Response:
    """Decide how old the last backup and the last rehearsal may be."""
    form = visit.form

    def record() -> None:
        days = form.parsed("days", _days, required="Give a number of days: 1 is each night.")
        rehearsal = form.parsed("rehearsal_days", _days, required="Give a number of days.")
        reason = form.text("reason", required="Say why so.")
        refuse_faulty(form)
        if days is not None and rehearsal is not None:
            backups.decide_rule(visit.opened, days, rehearsal, reason, key=form.key)

    return recorded(visit, record, lambda status: show(visit, status), "/status")


def _days(text: str) -> int:
    if not text.isdecimal():
        raise InputError("days-unreadable", f"“{text}” is no number of days.", fix="Like 7.")
    return int(text)
