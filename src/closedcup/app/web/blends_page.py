"""Pictures of calculated flash points: a line of two liquids, a map of three, an evaporation."""

from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.liquids.blend_pictures import line_picture, map_picture
from closedcup.app.usecases.liquids.blending import Choices, line_answer, map_answer
from closedcup.app.usecases.liquids.formulating import evaporate_answer
from closedcup.app.web.estimate_page import BASES, components, composition_form, place
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, status_of
from closedcup.errors import ClosedcupError, InputError
from closedcup.quantities import parse_temperature

_LOST: Final = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
_STEPS: Final = 100


def show(visit: Visit) -> Response:
    """Draw what the address asks: liquids without amounts, or a blend that evaporates."""
    form = composition_form(visit)
    line: dict[str, Any] | None = None
    evaporation: dict[str, Any] | None = None
    picture = ""
    if form.typed:
        try:
            if form.text("at"):
                evaporation = _evaporation(form)
            else:
                line, picture = _drawn(form)
        except ClosedcupError as refused:
            _place(form, refused)
    error = form.refused or next(iter(form.errors.values()), None)
    return page(
        visit,
        "blends.html",
        status=200 if error is None else status_of(error),
        form=form,
        bases=BASES,
        drawn=line,
        picture=picture,
        evaporation=evaporation,
    )


def _choices(form: Form) -> Choices:
    return Choices(basis=form.text("basis") or "mole")


def _drawn(form: Form) -> tuple[dict[str, Any] | None, str]:
    text = form.text("c", required="Two liquids or three, one a line.")
    names = [line.partition("=")[0].strip() for line in text.splitlines() if line.strip()]
    level = form.parsed("level", lambda typed: parse_temperature(typed, where="level"))
    if form.errors:
        return None, ""
    levels = [] if level is None else [level]
    if len(names) == 2:
        first, second = names
        answer = line_answer((first, second), levels=levels, points=101, choices=_choices(form))
        return answer, line_picture(answer)
    if len(names) == 3:
        one, two, three = names
        answer = map_answer((one, two, three), levels=levels, steps=_STEPS, choices=_choices(form))
        return answer, map_picture(answer)
    raise InputError(
        "not-two-or-three",
        f"{len(names)} liquids cannot be drawn.",
        where="components",
        fix="Name two for a line or three for a map, one a line.",
    )


def _evaporation(form: Form) -> dict[str, Any] | None:
    at = form.parsed("at", lambda typed: parse_temperature(typed, where="at"))
    amounts = components(form)
    if at is None or form.errors:
        return None
    return evaporate_answer(amounts, at=at, lost=_LOST, choices=_choices(form))


def _place(form: Form, error: ClosedcupError) -> None:
    if error.where in ("at", "level"):
        form.errors[error.where] = error
    else:
        place(form, error)
