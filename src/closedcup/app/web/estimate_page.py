"""An estimate without a sample: what is in a liquid, and where it should flash. Nothing is kept."""

from typing import Any, Final
from urllib.parse import urlencode

from starlette.responses import Response

from closedcup.app.usecases.desk.samples import as_basis
from closedcup.app.usecases.liquids.estimating import estimate_answer, relative_uncertainty
from closedcup.app.usecases.methods.methods_on_record import MethodLookup, method_of
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, status_of
from closedcup.errors import ClosedcupError
from closedcup.methods import Method, methods
from closedcup.quantities import Amount, parse_amount, parse_pressure

FIELDS: Final = ("basis", "pressure", "method", "activity", "amount_uncertainty")
BASES: Final = [("mole", "mole"), ("mass", "mass"), ("volume", "volume")]
MODELS: Final = [
    ("", "by the kind of blend"),
    ("unifac", "UNIFAC"),
    ("dortmund", "modified UNIFAC (Dortmund)"),
    ("ideal", "ideal"),
]


def show(visit: Visit) -> Response:
    """Estimate what the address asks, by the same names as the web API; else show the form."""
    form = composition_form(visit)
    answer = _answered(visit, form) if form.typed else None
    error = form.refused or next(iter(form.errors.values()), None)
    offered = [each for each in methods() if each.test != "flash/no-flash"]
    return page(
        visit,
        "estimate.html",
        status=200 if error is None else status_of(error),
        form=form,
        found=answer,
        bases=BASES,
        models=MODELS,
        methods_offered=[(each.id, f"{each.designation} ({each.id})") for each in offered],
        same_as_json="/api/estimate?" + urlencode(_asked(form)),
    )


def composition_form(visit: Visit) -> Form:
    """Return what the address asks; components, each its own `c` or a line of one, as lines."""
    form = Form.of(dict(visit.request.query_params))
    parts = visit.request.query_params.getlist("c")
    if parts:
        form.typed["c"] = "\n".join(part.strip() for part in parts)
    return form


def components(form: Form) -> tuple[Amount, ...]:
    """Read one component a line; a lone name is the whole liquid."""
    lines = [line.strip() for line in form.text("c", required=_EXAMPLE).splitlines()]
    lines = [line for line in lines if line]
    if len(lines) == 1 and "=" not in lines[0]:
        lines = [f"{lines[0]}=1"]
    return tuple(parse_amount(line) for line in lines)


_EXAMPLE: Final = "One part a line: “ethanol=30 %”."


def _answered(visit: Visit, form: Form) -> dict[str, Any] | None:
    def lookup(identifier: str) -> Method:
        return method_of(visit.opened.state, identifier)

    pressure = form.parsed("pressure", parse_pressure)
    uncertainty = form.parsed("amount_uncertainty", relative_uncertainty)
    try:
        amounts = components(form)
        if form.errors:
            return None
        finding: MethodLookup = lookup
        return estimate_answer(
            amounts,
            basis=as_basis(form.text("basis") or "mole"),
            pressure=pressure,
            method_id=form.text("method") or None,
            activity=form.text("activity") or "default",
            normalise=form.checked("normalise"),
            amount_uncertainty=uncertainty or 0.0,
            lookup=finding,
        )
    except ClosedcupError as error:
        place(form, error)
        return None


def place(form: Form, error: ClosedcupError) -> None:
    """Put what is wrong beside its field; above the form where it is about the blend."""
    where = error.where.split(" ")[0]
    if where in ("component", "composition", "components"):
        form.errors["c"] = error
    elif where in FIELDS:
        form.errors[where] = error
    else:
        form.refused = error


def _asked(form: Form) -> list[tuple[str, str]]:
    asked = [("c", line.strip()) for line in form.text("c").splitlines() if line.strip()]
    asked += [(name, form.text(name)) for name in FIELDS if form.text(name)]
    return asked + ([("normalise", "yes")] if form.checked("normalise") else [])
