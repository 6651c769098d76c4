"""Record what a form says, once; a refused one is shown again with everything that was typed."""

from collections.abc import Callable
from datetime import date

from starlette.responses import Response

from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, see, status_of
from closedcup.errors import ClosedcupError, InputError


def recorded(
    visit: Visit,
    record: Callable[[], object],
    again: Callable[[int], Response],
    address: str,
) -> Response:
    """Call `record` unless this press is on record already, then show `address`.

    When it is refused, `again` shows the form with its faults at the status given to it.
    """
    form = visit.form
    if visit.opened.store.settle(form.key) is not None:
        return see(address)
    try:
        record()
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        return again(status_of(error, visit.request.path_params))
    return see(address)


def refuse_faulty(form: Form) -> None:
    """Raise what is wrong with the first faulty field."""
    if form.errors:
        raise next(iter(form.errors.values()))


def parse_day(text: str) -> str:
    """Read a calendar day, 2026-03-02; InputError otherwise."""
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise InputError(
            "date-unreadable", f"“{text}” is not a date.", fix="Write it like 2026-03-02."
        ) from None
