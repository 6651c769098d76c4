"""The order of the day: a list with times that is made anew whenever it is looked at."""

from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.desk.chilling import note_chilling
from closedcup.app.usecases.planning.ordering_day import order_of_the_day
from closedcup.app.web.forms import Form, parse_number
from closedcup.app.web.person import people
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import ClosedcupError
from closedcup.quantities import Temperature, parse_temperature

SYMBOLS: Final = {
    "chill": "next",
    "verification": "good",
    "clean": "next",
    "blank": "no flash",
    "wait": "held",
    "test": "bench",
}


def show(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """Show today's list; only the list itself where a page asks for it to bring it up to date."""
    asked = _asked(visit)
    analysts, room = visit.request.query_params.getlist("analyst"), asked.text("room")
    answer, error = None, None
    try:
        answer = order_of_the_day(
            visit.opened, room=_room(asked), analysts=[each for each in analysts if each]
        )
    except ClosedcupError as refused:
        error = refused
    return page(
        visit,
        "day_list.html" if visit.is_swap else "day.html",
        status=status,
        day=None if answer is None else _with_places(visit, answer),
        error=error,
        symbols=SYMBOLS,
        people=people(visit.opened),
        analysts=analysts,
        room=room,
        asked=asked,
        address=str(visit.request.url.path) if faulty else _address(visit),
        form_named=lambda name: visit.form if name == faulty else Form(),
    )


def _asked(visit: Visit) -> Form:
    return Form({"room": visit.query("room")})


def _room(asked: Form) -> Temperature | None:
    """Read the room's temperature; a bare number is in °C, as the field says."""
    number = asked.number("room")
    return None if number is None else parse_temperature(f"{number} degC", where="room")


def _address(visit: Visit) -> str:
    query = visit.request.url.query
    return visit.request.url.path + (f"?{query}" if query else "")


def _with_places(visit: Visit, answer: dict[str, Any]) -> dict[str, Any]:
    """Put beside each entry where its work is done on the pages, and what the sample is."""
    ledger = visit.opened.state
    rows = []
    for entry in answer["entries"]:
        series = ledger.series_under_way(entry["test"]) if entry["test"] else None
        place = f"/bench/{series.id}" if series else None
        if place is None and entry["test"]:
            place = f"/samples/{entry['sample']}#test-{entry['test']}"
        elif place is None and entry["what"] == "verification":
            place = f"/apparatus/{entry['apparatus']}#verification"
        sample = ledger.samples[entry["sample"]] if entry["sample"] else None
        described = "" if sample is None else sample.description
        who = visit.opened.name_of(entry["analyst"])
        rows.append(entry | {"place": place, "described": described, "who": who})
    left_out = [
        row | {"described": ledger.samples[row["sample"]].description} for row in answer["left_out"]
    ]
    return answer | {"entries": rows, "left_out": left_out}


def chill(visit: Visit) -> Response:
    """Note that a sample was put to chill, or what its temperature was when read."""
    form, sample = visit.form, visit.path("sample")

    def record() -> None:
        put = form.checked("put")
        needed = "" if put else "Enter what its thermometer shows."
        shows = form.parsed("shows", parse_number, required=needed)
        refuse_faulty(form)
        if put:
            note_chilling(visit.opened, sample, key=form.key)
        if shows is not None:
            read = parse_temperature(f"{shows} degC", where="shows")
            note_chilling(visit.opened, sample, read, key=f"{form.key}/read" if put else form.key)

    return recorded(
        visit,
        record,
        lambda status: show(visit, faulty=f"chill-{sample}", status=status),
        "/day#cold",
    )
