"""The test methods: a list of them, and one with its steps, numbers and precision."""

from functools import partial

from starlette.responses import Response

from closedcup.app.usecases.methods.confirming import checked_and_all
from closedcup.app.usecases.methods.explaining_methods import all_methods, one_method
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.web.rendering import Visit, page


def show_all(visit: Visit) -> Response:
    """List the methods, each with how far its numbers are checked."""
    listed = all_methods(partial(method_of, visit.opened.state))
    rows = [row | _progress(visit, row["id"]) for row in listed]
    return page(visit, "methods.html", rows=rows)


def show(visit: Visit) -> Response:
    """Explain one method, with what the laboratory has confirmed."""
    found = one_method(visit.path("method"), partial(method_of, visit.opened.state))
    return page(visit, "method.html", method=found | _progress(visit, found["id"]))


def _progress(visit: Visit, method_id: str) -> dict[str, int]:
    checked, total = checked_and_all(visit.opened, method_id)
    return {"checked": checked, "total": total}
