"""The uncertainty of a result, from below and from above; uncertainties are put on record here."""

from typing import Any

from starlette.responses import Response

from closedcup.app.usecases.charts.chart_picture import contributions_picture
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.uncertainty import result_budget, stating
from closedcup.app.usecases.uncertainty.uncertainty import worked_out
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory.stated_uncertainty import UNITS

_SOURCES = (
    ("barometer", "the barometer"),
    ("slope", "the correction for 1 kPa"),
    ("probe", "the probe's correction"),
    ("operator", "differences between operators"),
    ("volume", "the specimen volume"),
)


def show(visit: Visit, *, status: int = 200) -> Response:
    """Show the budget of a result, both ways, with what is missing from it."""
    opened = visit.opened
    result = find(opened.state.results, visit.path("result"), "result")
    answer, refused = _worked_out(visit, result.id)
    return page(
        visit,
        "uncertainty.html",
        status=status,
        form=visit.form,
        result=result,
        sample=opened.state.tests[result.test].sample,
        apparatus=opened.state.series[result.series].apparatus,
        answer=answer,
        refused=refused,
        inputs=[]
        if answer is None
        else sorted(answer["inputs"], key=lambda one: -abs(one["contribution"])),
        svg="" if answer is None else contributions_picture(answer),
        stated=stating.stated(opened),
        sources=_SOURCES,
    )


def _worked_out(visit: Visit, result: str) -> tuple[dict[str, Any] | None, ClosedcupError | None]:
    """Return the budget, or why there is none."""
    try:
        budget = result_budget.budget_of_result(visit.opened, result, result_budget.Given())
        return worked_out(budget), None
    except ClosedcupError as error:
        return None, error


def state(visit: Visit) -> Response:
    """Put an uncertainty on record."""
    form, result = visit.form, visit.path("result")

    def put() -> None:
        found = find(visit.opened.state.results, result, "result")
        source = form.text("source", required="Of what?")
        value = form.number("value", required="Enter the uncertainty.")
        basis = form.text("basis", required="Say what it rests on: a certificate, a study.")
        freedom = form.number("degrees_of_freedom")
        if freedom is not None and freedom != int(freedom):
            form.errors["degrees_of_freedom"] = InputError(
                "not-whole", "Degrees of freedom are a whole number here.", fix="Leave it empty."
            )
        refuse_faulty(form)
        unit = "kPa" if UNITS.get(source) == "kPa" else "degC"
        own = form.text("holds_for") != "every"
        stating.state_uncertainty(
            visit.opened,
            source,
            f"{value} {unit}",
            basis,
            shape=form.text("shape") or "standard",
            degrees_of_freedom=None if freedom is None else int(freedom),
            apparatus_id=visit.opened.state.series[found.series].apparatus if own else "",
            key=form.key,
        )

    return recorded(
        visit, put, lambda status: show(visit, status=status), f"/results/{result}/uncertainty"
    )
