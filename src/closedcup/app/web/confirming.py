"""Check a method's numbers against the laboratory's own copy, one at a time."""

import math
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.methods.confirming import confirm_number, confirmation_state, last_read
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import InputError

_SECONDS_EACH: Final = 15  # to find one number in an open copy: some forty take ten minutes


def show(visit: Visit, *, status: int = 200) -> Response:
    """Ask for the number named in the address, else for the first one that is left."""
    state = confirmation_state(visit.opened, visit.path("method"))
    rows: list[dict[str, Any]] = state["numbers"]
    wanted = visit.form.text("number") or visit.query("number")
    asked = _row(rows, wanted) if wanted else _next(rows)
    edition, clause = last_read(visit.opened, state["method"])
    return page(
        visit,
        "confirm.html",
        status=status,
        form=visit.form,
        method=state,
        asked=asked,
        place=rows.index(asked) + 1 if asked else 0,
        later=_next(rows, after=asked) if asked else None,
        edition=asked["edition"] or edition if asked else edition,
        clause=asked["clause"] or clause if asked else clause,
        minutes_left=math.ceil(state["left"] * _SECONDS_EACH / 60),
        checked=[row for row in rows if row["confirmed_at"] is not None],
        left=[row for row in rows if row["confirmed_at"] is None],
    )


def confirm(visit: Visit) -> Response:
    """Record what the laboratory's copy says for one number, and ask for the next."""
    form, method_id = visit.form, visit.path("method")

    def record() -> None:
        asked = _row(confirmation_state(visit.opened, method_id)["numbers"], form.text("number"))
        value = form.number("value", required="Enter what your copy says.")
        edition = form.text("edition", required="Enter the edition of your copy.")
        clause = form.text(
            "clause", required="Enter the clause; “not stated” where your copy does not say it."
        )
        refuse_faulty(form)
        confirm_number(
            visit.opened,
            method_id,
            asked["number"],
            f"{value} {asked['unit']}",
            clause=clause,
            edition=edition,
            key=form.key,
        )

    return recorded(
        visit, record, lambda status: show(visit, status=status), f"/methods/{method_id}/confirm"
    )


def _row(rows: list[dict[str, Any]], name: str) -> dict[str, Any]:
    """Return a number by its name; InputError where the method has none of that name."""
    for row in rows:
        if row["number"] == name:
            return row
    raise InputError(
        "number-unknown",
        f"The method has no number “{name}”.",
        where="number",
        fix="Choose one from the list.",
    )


def _next(
    rows: list[dict[str, Any]], *, after: dict[str, Any] | None = None
) -> dict[str, Any] | None:
    """Return the next number that is not checked, after one of them and then from the top."""
    start = 0 if after is None else rows.index(after) + 1
    left = [row for row in (*rows[start:], *rows[:start]) if row["confirmed_at"] is None]
    return next((row for row in left if row is not after), None)
