"""Note on an apparatus's page how fast its cup heats and cools."""

from starlette.responses import Response

from closedcup.app.usecases.apparatus import cup_rates
from closedcup.app.web.apparatus_page import show
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit


def note(visit: Visit) -> Response:
    """Record the rates typed, or those that the bench's entries show."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        if form.checked("seen"):
            found = cup_rates.rates_from_bench(visit.opened, identifier)
            cup_rates.note_rates(visit.opened, identifier, *found, key=form.key)
            return
        heats = form.number("heats", required="Enter how many °C it heats in a minute.")
        cools = form.number("cools", required="Enter how many °C it cools in a minute.")
        basis = form.text("basis", required="Say what the two rest on: a stop watch, a leaflet.")
        refuse_faulty(form)
        if heats is not None and cools is not None:
            cup_rates.note_rates(
                visit.opened, identifier, float(heats), float(cools), basis, key=form.key
            )

    return recorded(
        visit,
        record,
        lambda status: show(visit, faulty="rates", status=status),
        f"/apparatus/{identifier}#rates",
    )
