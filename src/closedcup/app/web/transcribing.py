"""Entries from a bench sheet: who observed, and when, apart from who enters them now."""

import re
from datetime import datetime, time
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.bench.bench_sheets import sheet_for
from closedcup.app.usecases.moments import read_moment
from closedcup.app.web.recording import refuse_faulty
from closedcup.app.web.rendering import Visit
from closedcup.errors import InputError

_TIME_OF_DAY: Final = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?")


def observed(visit: Visit) -> dict[str, Any]:
    """Return when something was observed and by whom, as the bench's use-cases take it.

    Raises InputError for a moment that is to come or that has no meaning.
    """
    moment = moment_observed(visit)
    refuse_faulty(visit.form)
    return {"observed_at": moment, "observed_by": visit.form.text("observed_by") or None}


def moment_observed(visit: Visit) -> datetime | None:
    """Return when something was observed; None for now, and where the field is faulty."""
    now = visit.opened.clock()
    return visit.form.parsed("observed_at", lambda text: _moment(text, now))


def _moment(text: str, now: datetime) -> datetime:
    """Read a time of today, “7:15:30”, or a whole moment with its offset."""
    found = _TIME_OF_DAY.fullmatch(text)
    if found is None:
        moment = read_moment(text)
    else:
        hour, minute, second = (int(part or 0) for part in found.groups())
        moment = datetime.combine(now.date(), time(hour, minute, second), tzinfo=now.tzinfo)
    if moment > now:
        raise InputError(
            "moment-to-come",
            f"{text} is still to come; nothing was observed then.",
            fix="For another day write the whole moment, like 2026-03-02T07:15:00+01:00.",
        )
    return moment


def sheet(visit: Visit) -> Response:
    """Send the bench sheet of a test, filled in as far as its plan goes."""
    test = visit.path("test")
    content = sheet_for(visit.opened, test)  # refuses what is no test before it names a file
    return _pdf(content, f"bench-sheet-{test}.pdf")


def blank_sheet(visit: Visit) -> Response:
    """Send a blank bench sheet."""
    return _pdf(sheet_for(visit.opened, None), "bench-sheet.pdf")


def _pdf(content: bytes, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(content, media_type="application/pdf", headers=headers)
