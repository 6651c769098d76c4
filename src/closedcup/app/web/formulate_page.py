"""How much of a liquid a blend may hold, or needs, to keep a limit. Nothing is kept."""

from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.liquids.blending import Choices
from closedcup.app.usecases.liquids.formulating import formulate_answer
from closedcup.app.web.estimate_page import BASES, components, composition_form, place
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, status_of
from closedcup.errors import ClosedcupError
from closedcup.quantities import parse_limit

_WANTED: Final = [("most", "the most of it"), ("least", "the least of it")]


def show(visit: Visit) -> Response:
    """Answer what the address asks; else show the form."""
    form = composition_form(visit)
    found = _answered(form) if form.typed else None
    error = form.refused or next(iter(form.errors.values()), None)
    return page(
        visit,
        "formulate.html",
        status=200 if error is None else status_of(error),
        form=form,
        found=found,
        bases=BASES,
        wanted=_WANTED,
    )


def _answered(form: Form) -> dict[str, Any] | None:
    limit = form.parsed("limit", parse_limit, required="For example “>=60 C”.")
    added = form.text("added", required="The liquid that is added, by name or CAS number.")
    try:
        amounts = components(form)
        if limit is None or form.errors:
            return None
        return formulate_answer(
            amounts,
            most=added if form.text("wanted") != "least" else None,
            least=added if form.text("wanted") == "least" else None,
            limit=limit,
            choices=Choices(basis=form.text("basis") or "mole"),
        )
    except ClosedcupError as error:
        _place(form, error)
        return None


def _place(form: Form, error: ClosedcupError) -> None:
    if error.where in ("most", "least"):
        form.errors["added"] = error
    elif error.where == "limit":
        form.errors["limit"] = error
    else:
        place(form, error)
