"""What is held, the results this flags, and the forms that place and lift a hold."""

from starlette.responses import Response

from closedcup.app.usecases.nonconforming import holding
from closedcup.app.web.forms import Form
from closedcup.app.web.person import people
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page

_ADDRESS = "/holds"


def show(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """Show what is held or was, with the results still to be reviewed."""
    opened = visit.opened
    ledger = opened.state

    def form_named(name: str) -> Form:
        return visit.form if name == faulty else Form()

    things = [(f"apparatus {each}", f"apparatus {each}") for each in ledger.apparatus]
    things += [(f"material {each}", f"lot {each}") for each in ledger.materials]
    things += [(f"person {each}", name) for each, name in people(opened)]
    return page(
        visit,
        "holds.html",
        status=status,
        rows=holding.holds(opened),
        holds=ledger.holds,
        things=[("", "choose"), *things],
        form_named=form_named,
        faulty=faulty,
    )


def place(visit: Visit) -> Response:
    """Hold an apparatus, a lot or a person."""
    form = visit.form

    def record() -> None:
        thing = form.text("thing", required="Choose what is held.")
        reason = form.text("reason", required="Say why the work is in doubt.")
        refuse_faulty(form)
        kind, _, subject = thing.partition(" ")
        since = form.text("since") or None
        holding.place_hold(visit.opened, kind, subject, reason, since=since, key=form.key)

    return recorded(visit, record, lambda status: _again(visit, "place", status), _ADDRESS)


def lift(visit: Visit) -> Response:
    """Lift a hold; the results it flags stand as a whole or are reviewed one by one."""
    form, hold_id = visit.form, visit.path("hold")

    def record() -> None:
        reason = form.text("lifted", required="Say what removed the doubt.")
        after = form.text("after", required="Say what becomes of the results.")
        refuse_faulty(form)
        holding.lift_hold(
            visit.opened, hold_id, reason, results_stand=after == "stand", key=form.key
        )

    return recorded(visit, record, lambda status: _again(visit, hold_id, status), _ADDRESS)


def _again(visit: Visit, faulty: str, status: int) -> Response:
    return show(visit, faulty=faulty, status=status)
