"""Sign in and out. What was typed before a session had ended is kept over the sign-in."""

from starlette.responses import Response

from closedcup.app.usecases.people import signing_in as usecases
from closedcup.app.web.forms import Form
from closedcup.app.web.recording import refuse_faulty
from closedcup.app.web.rendering import Visit, page, see
from closedcup.app.web.sessions import drop_session, keep_session, token_of
from closedcup.errors import ClosedcupError, Refused

_KEPT = "kept-"
"""Before the name of a field that is carried over the sign-in."""
_NEVER_KEPT = frozenset({"password", "new_password"})


def ask(visit: Visit) -> Response:
    """Ask whoever is not signed in to do so; keep where they were and what they typed.

    A part of a page asked for by the page's script is answered by the whole page.
    """
    posted = visit.request.method == "POST"
    kept = {**visit.form.typed, "key": visit.form.key} if posted else {}
    answer = _form(visit, Form(), 401, then=visit.request.url.path, kept=kept)
    if visit.is_swap:
        answer.headers["HX-Retarget"] = "body"
        answer.headers["HX-Reswap"] = "innerHTML"
    return answer


def show(visit: Visit) -> Response:
    """Show the form to sign in."""
    return _form(visit, visit.form, 200, then="/", kept={})


def sign_in(visit: Visit) -> Response:
    """Begin a session with a token of its own, in place of any that the browser had."""
    form, then = visit.form, _own_path(visit.form.text("then"))
    kept = {
        name.removeprefix(_KEPT): text
        for name, text in form.typed.items()
        if name.startswith(_KEPT)
    }
    try:
        person = form.text("person", required="Enter your id.")
        password = form.typed.get("password", "")
        refuse_faulty(form)
        token = usecases.sign_in(
            visit.opened,
            person,
            password,
            new_password=form.typed.get("new_password", ""),
            ends=token_of(visit.request),
        )
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        status = 403 if isinstance(error, Refused) else 400
        return _form(visit, form, status, then=then, kept=kept)
    answer = page(visit, "again.html", then=then, kept=kept) if kept else see(then)
    keep_session(visit.request, answer, token)
    return answer


def sign_out(visit: Visit) -> Response:
    """End the session, here and in the records."""
    usecases.sign_out(visit.opened, token_of(visit.request))
    answer = see("/sign-in")
    drop_session(visit.request, answer)
    return answer


def _form(visit: Visit, form: Form, status: int, *, then: str, kept: dict[str, str]) -> Response:
    refused = form.refused
    return page(
        visit,
        "sign_in.html",
        status=status,
        form=form,
        then=then,
        kept={name: text for name, text in kept.items() if name not in _NEVER_KEPT},
        has_accounts=visit.opened.has_accounts,
        new_password="new_password" in form.typed
        or (refused is not None and refused.kind == "new-password-needed"),
    )


def _own_path(text: str) -> str:
    """Return an address of this site only: the sign-in leads nowhere else."""
    is_own = text.startswith("/") and not text.startswith(("//", "/sign-")) and "\\" not in text
    return text if is_own else "/"
