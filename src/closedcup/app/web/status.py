"""Apparatus and their verification; how the records are kept and whether they are intact."""

from starlette.responses import Response

from closedcup.app.usecases import overview, records
from closedcup.app.web.rendering import Visit, page
from closedcup.records.chain import Head, format_seal

_SYMBOLS = {
    "not yet in service": "next",
    "in service, not verified": "held",
    "in control": "good",
    "out of control": "stop",
}


def apparatus(visit: Visit) -> Response:
    """List the apparatus, for each method that they run, with their last verification."""
    rows = overview.apparatus_states(visit.opened)
    return page(visit, "apparatus.html", rows=rows, symbols=_SYMBOLS)


def show(visit: Visit) -> Response:
    """Check every seal now, and say how commits are made safe."""
    status = records.status(visit.opened)
    return page(
        visit,
        "status.html",
        status_facts=status,
        printed_seal=format_seal(Head(status["events"], status["seal"])),
        check=records.check_records(visit.opened),
    )
