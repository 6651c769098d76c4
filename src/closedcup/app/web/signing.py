"""Sign a result: what it means, and the password again."""

from starlette.responses import Response

from closedcup.app.usecases.people import signing as usecases
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.laboratory.signature import MEANINGS

_WORDS = {
    "performed": "performed: I made or entered it",
    "reviewed": "reviewed: I checked it",
    "approved": "approved: it may be released",
}


def show(visit: Visit, status: int = 200) -> Response:
    """Show a result's signatures, and the form that adds one."""
    result = visit.path("result")
    ledger = visit.opened.state
    signed = usecases.signatures_under(visit.opened, result)
    return page(
        visit,
        "sign.html",
        status=status,
        form=visit.form,
        signed=signed,
        person=visit.opened.by,
        sample=ledger.tests[ledger.results[result].test].sample,
        meanings=[(meaning, _WORDS[meaning]) for meaning in MEANINGS],
        has_accounts=visit.opened.has_accounts,
    )


def sign(visit: Visit) -> Response:
    """Sign a result."""
    form, result = visit.form, visit.path("result")

    def record() -> None:
        meaning = form.text("meaning", required="Say what your signature means.")
        refuse_faulty(form)
        password = form.typed.get("password", "")
        usecases.sign_result(visit.opened, result, meaning, password, key=form.key)

    return recorded(visit, record, lambda status: show(visit, status), f"/results/{result}/sign")
