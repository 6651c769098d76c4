"""What a flash point means, without a sample: try a value and what else is known of it."""

from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.desk.evidence import properties_in_words, typed_evidence
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.usecases.results.classifying import classifications, regimes_picture
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, status_of
from closedcup.errors import ClosedcupError
from closedcup.methods import Method, methods

TYPED: Final = (
    "boils",
    "method",
    "uncertainty",
    "sustains",
    "fire_point",
    "viscosity",
    "flow_time",
    "cup_jet",
    "separation",
    "other_hazards",
    "water",
    "alcohol",
    "product",
    "carried_at",
    "used_at",
    "receptacle",
    "mode",
)
_UNITS: Final = ("_mass_percent", "_volume_percent", "_percent", "_mm2_s", "_combustion", "_c")


def show(visit: Visit) -> Response:
    """Classify what the address asks, by the same names as the command; else show the form."""
    form = Form.of(dict(visit.request.query_params))
    answers, picture = _answered(visit, form)
    error = form.refused or next(iter(form.errors.values()), None)
    return page(
        visit,
        "classification.html",
        status=200 if error is None else status_of(error),
        form=form,
        answers=answers,
        picture=picture,
        methods_offered=[(each.id, f"{each.designation} ({each.id})") for each in methods()],
        properties_offered=properties_in_words(),
        opened_more=any(form.text(name) for name in TYPED[3:]) or bool(form.text("name")),
    )


def _answered(visit: Visit, form: Form) -> tuple[list[dict[str, Any]], str]:
    if not form.typed:
        return [], ""
    flash = form.text("flash", required="With its unit: “61.5 C” or “142.7 F”.")
    if not flash:
        return [], ""

    def lookup(identifier: str) -> Method:
        return method_of(visit.opened.state, identifier)

    name, value = form.text("name"), form.text("value")
    try:
        evidence = typed_evidence(
            flash=flash,
            calculated=form.checked("calculated"),
            properties=[f"{name}={value}"] if name or value else [],
            **{field: form.text(field) or None for field in TYPED},
        )
        answers = classifications(
            evidence,
            lookup=lookup,
            good_practice=not form.checked("law_only"),
            all_on_file=form.checked("legacy"),
        )
        return answers, regimes_picture(evidence, lookup=lookup, all_on_file=form.checked("legacy"))
    except ClosedcupError as error:
        _place(form, error)
        return [], ""


def _place(form: Form, error: ClosedcupError) -> None:
    """Put what is wrong beside its field; above the form where it is about several."""
    where = error.where.replace(" ", "_")
    for ending in _UNITS:
        where = where.removesuffix(ending)
    if where == "property":
        form.errors["value"] = error
    elif where == "flash" or where in TYPED:
        form.errors[where] = error
    else:
        form.refused = error
