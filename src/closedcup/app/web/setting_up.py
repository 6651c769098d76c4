"""Lead a new laboratory by the hand: establish it, and see what is still to do before a sample."""

from typing import Any

from starlette.responses import Response

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus import establishing
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.laboratory import ApparatusState, Site


def steps(opened: OpenLaboratory) -> list[dict[str, Any]]:
    """Return what comes before the first sample, in order, each with whether it is done."""
    ledger = opened.state
    first = next(iter(ledger.apparatus), None)
    where = "/apparatus" if first is None else f"/apparatus/{first}"
    stock = "/apparatus#materials"
    in_control = any(
        ledger.apparatus_state(each.id, method) == ApparatusState.IN_CONTROL
        for each in ledger.apparatus.values()
        for method in each.methods
    )
    return [
        {"words": words, "address": address, "done": done}
        for words, address, done in (
            ("Say which laboratory this is", "/establish", ledger.site is not None),
            ("Register the people", "/person", bool(ledger.people)),
            ("Register an apparatus", "/apparatus", bool(ledger.apparatus)),
            ("Put it into service, item by item", f"{where}#service", bool(ledger.service)),
            ("Take a reference material into stock", stock, bool(ledger.materials)),
            ("Verify the apparatus with it", f"{where}#verification", in_control),
            ("Receive the first sample", "/samples/new", bool(ledger.samples)),
        )
    ]


def show(visit: Visit, status: int = 200) -> Response:
    """Show the form that says which laboratory these records belong to."""
    return page(visit, "establish.html", status=status, form=visit.form)


def establish(visit: Visit) -> Response:
    """Say which laboratory these records belong to; once."""
    form = visit.form

    def record() -> None:
        name = form.text("name", required="Enter the name that reports bear.")
        address = form.text("address", required="Enter the address that reports bear.")
        altitude_m = form.number("altitude_m", required="Enter it in metres: a map tells it.")
        refuse_faulty(form)
        if altitude_m is not None:
            site = Site(name, address, form.text("contact"), float(altitude_m))
            establishing.establish(visit.opened, site, key=form.key)

    return recorded(visit, record, lambda status: show(visit, status), "/")
