"""The checklists at an apparatus: put into service, start of day, close-down; item by item."""

from collections.abc import Callable

from starlette.responses import Response

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.bench import days
from closedcup.app.usecases.lookup import find
from closedcup.app.web.apparatus_page import show
from closedcup.app.web.forms import Form
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit
from closedcup.errors import InputError
from closedcup.laboratory import ServiceAnswer, service_checklist
from closedcup.laboratory.checklist import (
    Checklist,
    close_down_checklist,
    start_of_day_checklist,
)
from closedcup.quantities import parse_pressure


def _ticked(form: Form, listed: Checklist) -> tuple[ServiceAnswer, ...]:
    """Return the items that are ticked, each with what was found."""
    return tuple(
        ServiceAnswer(item.id, done=True, finding=form.text(f"finding-{item.id}"))
        for item in listed.items
        if form.checked(f"done-{item.id}")
    )


def put_into_service(visit: Visit) -> Response:
    """Record the items done so far; the apparatus is in service once none is open."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        find(visit.opened.state.apparatus, identifier, "apparatus")
        listed = service_checklist()
        answers = _ticked(form, listed)
        if not answers:
            raise InputError(
                "nothing-ticked",
                "No item is ticked; nothing was recorded.",
                fix="Tick what is done. The rest waits here for another time.",
            )
        for item in listed.items:
            if item.needs_finding and form.checked(f"done-{item.id}"):
                form.text(f"finding-{item.id}", required="Say what was found.")
        refuse_faulty(form)
        establishing.put_into_service(visit.opened, identifier, answers, key=form.key)

    return _answered(visit, record, "service")


def answer_again(visit: Visit) -> Response:
    """Record a new answer to an item that has one, with the reason."""
    form, identifier, item = visit.form, visit.path("apparatus"), visit.path("item")

    def record() -> None:
        finding = form.text(f"again-finding-{item}")
        reason = form.text(f"again-reason-{item}", required="Say what has changed, or was wrong.")
        refuse_faulty(form)
        answer = ServiceAnswer(item, done=form.text("press") != "open", finding=finding)
        establishing.answer_again(visit.opened, identifier, answer, reason, key=form.key)

    return _answered(visit, record, "again")


def start_day(visit: Visit) -> Response:
    """Record the card of the day."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        find(visit.opened.state.apparatus, identifier, "apparatus")
        pressure = form.parsed(
            "pressure", parse_pressure, required="Read the barometer in the laboratory: “84.6 kPa”."
        )
        kind = form.text("pressure_kind", required="Station or sea level: the two differ.")
        _refuse_undone(form, start_of_day_checklist())
        refuse_faulty(form)
        if pressure is not None:
            days.start_day(
                visit.opened,
                identifier,
                pressure,
                _ticked(form, start_of_day_checklist()),
                pressure_kind=kind,
                key=form.key,
            )

    return _answered(visit, record, "day")


def close_down(visit: Visit) -> Response:
    """Record that work at an apparatus ended."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        find(visit.opened.state.apparatus, identifier, "apparatus")
        _refuse_undone(form, close_down_checklist())
        refuse_faulty(form)
        answers = _ticked(form, close_down_checklist())
        days.close_down(visit.opened, identifier, answers, key=form.key)

    return _answered(visit, record, "close-down")


def _refuse_undone(form: Form, listed: Checklist) -> None:
    """Mark each item that is not ticked, or lacks the finding that it asks for, in its place."""
    for item in listed.items:
        if not form.checked(f"done-{item.id}"):
            form.errors[f"done-{item.id}"] = InputError(
                "item-open", "This is open.", fix="Do it, then tick it; none is skipped."
            )
        elif item.needs_finding:
            form.text(f"finding-{item.id}", required="Say what was found.")


def _answered(visit: Visit, record: Callable[[], object], name: str) -> Response:
    return recorded(
        visit,
        record,
        lambda status: show(visit, faulty=name, status=status),
        f"/apparatus/{visit.path('apparatus')}#{'service' if name == 'again' else name}",
    )
