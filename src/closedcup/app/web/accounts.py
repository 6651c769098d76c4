"""Accounts on pages: one's own, and for a quality lead everybody's."""

from typing import Any

from starlette.responses import Response

from closedcup.app.usecases.people import accounts as usecases
from closedcup.app.usecases.people import signing_in
from closedcup.app.web.recording import refuse_faulty
from closedcup.app.web.rendering import Visit, page, see, status_of
from closedcup.app.web.sessions import token_of
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory.people import ROLES
from closedcup.records.access_rules import access_rule_rows


def show_all(visit: Visit, status: int = 200, start: dict[str, Any] | None = None) -> Response:
    """Show everybody with roles and account; `start` is a password to hand over, shown once."""
    people = usecases.people_and_accounts(visit.opened)
    return page(
        visit,
        "accounts.html",
        status=status,
        form=visit.form,
        people=people,
        sign_ins=usecases.sign_ins(visit.opened, 20),
        start=start,
        has_accounts=visit.opened.has_accounts,
        rules=access_rule_rows(),
        roles=[(role, role) for role in ROLES],
        leads=[
            (each["person"], each["name"]) for each in people if "quality lead" in each["roles"]
        ],
    )


def make_first(visit: Visit) -> Response:
    """Make the first account, a quality lead's, with the password typed twice."""
    form, password = visit.form, visit.form.typed.get("password", "")
    try:
        person = form.text("person", required="Choose a quality lead.")
        if password != form.typed.get("again", ""):
            form.errors["again"] = InputError(
                "passwords-differ", "The two are not the same.", fix="Type both again."
            )
        refuse_faulty(form)
        usecases.make_account(visit.opened, person, password=password, key=form.key)
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        return show_all(visit, status_of(error))
    return see("/sign-in")


def change(visit: Visit) -> Response:
    """Do what the pressed button says with a person's account or roles."""
    form, person, opened = visit.form, visit.path("person"), visit.opened
    reason, role, start = form.text("reason"), form.text("role"), None
    try:
        match form.text("press"):
            case "make":
                start = usecases.make_account(opened, person, key=form.key)
            case "password":
                start = usecases.give_password(opened, person)
            case "disable":
                usecases.disable_account(opened, person, reason, key=form.key)
            case "enable":
                usecases.enable_account(opened, person, reason, key=form.key)
            case "give":
                usecases.give_role(opened, person, role, reason, key=form.key)
            case "take":
                usecases.take_role(opened, person, role, reason, key=form.key)
            case other:
                raise InputError("button-unknown", f"There is no button “{other}”.")
    except ClosedcupError as error:
        form.refused = error
        return show_all(visit, status_of(error, visit.request.path_params))
    if start is not None and start["start_password"]:
        return show_all(visit, 200, _to_hand_over(start))
    return see("/accounts")


def _to_hand_over(told: dict[str, Any]) -> dict[str, Any]:
    return {
        "name": told["name"],
        "password": told["start_password"],
        "days": told["start_password_days"],
    }


def show_own(visit: Visit, status: int = 200) -> Response:
    """Show whoever is signed in what they may do, and let them change their password."""
    held = visit.opened.state.roles[visit.opened.by]
    return page(
        visit,
        "own_account.html",
        status=status,
        form=visit.form,
        person=visit.opened.by,
        roles=[role for role in ROLES if role in held],
    )


def change_own_password(visit: Visit) -> Response:
    """Replace one's own password; sessions elsewhere end."""
    form = visit.form
    try:
        old, new = form.typed.get("password", ""), form.typed.get("new_password", "")
        if new != form.typed.get("again", ""):
            form.errors["again"] = InputError(
                "passwords-differ", "The two are not the same.", fix="Type both again."
            )
        refuse_faulty(form)
        signing_in.change_password(visit.opened, token_of(visit.request), old, new)
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        return show_own(visit, status_of(error))
    return see("/person")
