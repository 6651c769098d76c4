"""How the records are kept and whether they are intact."""

from starlette.responses import Response

from closedcup.app.usecases import records
from closedcup.app.web.rendering import Visit, page
from closedcup.records.chain import Head, format_seal


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
