"""The register of system failures: what failed, what was done, whether that worked."""

from starlette.responses import Response

from closedcup.app.usecases.nonconforming import failures
from closedcup.app.web.forms import Form
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page

_ADDRESS = "/failures"


def show(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """Show the register, the newest first."""

    def form_named(name: str) -> Form:
        return visit.form if name == faulty else Form()

    return page(
        visit,
        "failures.html",
        status=status,
        rows=failures.failures(visit.opened)[::-1],
        form_named=form_named,
        faulty=faulty,
    )


def note(visit: Visit) -> Response:
    """Note a failure and what was done at once."""
    form = visit.form

    def record() -> None:
        what = form.text("what", required="Say what failed.")
        immediate = form.text("immediate", required="Say what was done at once.")
        refuse_faulty(form)
        failures.note_failure(visit.opened, what, immediate, key=form.key)

    return recorded(visit, record, lambda status: _again(visit, "note", status), _ADDRESS)


def correct(visit: Visit) -> Response:
    """Record a corrective action."""
    form, failure = visit.form, visit.path("failure")

    def record() -> None:
        action = form.text("action", required="Say what was done against the cause.")
        refuse_faulty(form)
        failures.take_action(visit.opened, failure, action, key=form.key)

    return recorded(visit, record, lambda status: _again(visit, failure, status), _ADDRESS)


def review(visit: Visit) -> Response:
    """Record whether the corrective action worked."""
    form, failure = visit.form, visit.path("failure")

    def record() -> None:
        words = form.text("seen", required="Say how it was seen.")
        worked = form.text("worked", required="Say whether it worked.")
        refuse_faulty(form)
        failures.review_effect(
            visit.opened, failure, words, effective=worked == "yes", key=form.key
        )

    return recorded(visit, record, lambda status: _again(visit, failure, status), _ADDRESS)


def _again(visit: Visit, faulty: str, status: int) -> Response:
    return show(visit, faulty=faulty, status=status)
