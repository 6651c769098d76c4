"""Every report that was issued, which one takes the place of which, and the form to amend one."""

from starlette.responses import Response

from closedcup.app.usecases.results import amending
from closedcup.app.web.forms import Form
from closedcup.app.web.nonconforming_result import told_in
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page

_ADDRESS = "/reports"
_SHOWN = 50


def show(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """Show the reports, the newest first."""

    def form_named(name: str) -> Form:
        return visit.form if name == faulty else Form()

    return page(
        visit,
        "reports.html",
        status=status,
        rows=amending.reports(visit.opened, _SHOWN)[::-1],
        older=max(len(visit.opened.state.reports) - _SHOWN, 0),
        form_named=form_named,
        faulty=faulty,
    )


def amend(visit: Visit) -> Response:
    """Issue a report anew: what changed, and who was told."""
    form, number = visit.form, visit.path("report")

    def record() -> None:
        changes = form.text("changes", required="Say what changed, and why.")
        told = form.text("told", required="Name each who was told, one on each line.")
        refuse_faulty(form)
        amending.amend_report(visit.opened, number, changes, told_in(told), key=form.key)

    return recorded(
        visit, record, lambda status: show(visit, faulty=number, status=status), _ADDRESS
    )
