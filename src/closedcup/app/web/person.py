"""Who is at this PC: the id that entries bear, chosen on the page and kept by the browser.

It says whose hands are at the bench, as the name on a paper worksheet does; it is no log-in and
protects nothing. Where the laboratory has accounts, people sign in instead.
"""

from starlette.requests import Request
from starlette.responses import Response

from closedcup.app.opening import OpenLaboratory
from closedcup.app.permission import sign_in_needed
from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.lookup import find
from closedcup.app.web import accounts
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page, see
from closedcup.laboratory import Person
from closedcup.laboratory.people import ROLES

COOKIE = "person"
_ONE_SHIFT_S = 12 * 3600


def person_at(request: Request, opened: OpenLaboratory, otherwise: str) -> str:
    """Return the id that the browser keeps, when such a person is registered."""
    chosen = request.cookies.get(COOKIE, "")
    return chosen if chosen in opened.state.people else otherwise


def people(opened: OpenLaboratory) -> list[tuple[str, str]]:
    """Return id and name of everybody on record."""
    return [(person, opened.name_of(person)) for person in opened.state.people]


def show_here(visit: Visit) -> Response:
    """Show who is at this PC; where people sign in, their own account."""
    return accounts.show_own(visit) if visit.opened.has_accounts else show(visit)


def show(visit: Visit, status: int = 200) -> Response:
    """Show who can be at this PC, and the form that registers another person."""
    ledger = visit.opened.state
    choices = [
        (person, visit.opened.name_of(person), ", ".join(sorted(ledger.roles[person])))
        for person in ledger.people
    ]
    return page(
        visit,
        "person.html",
        status=status,
        choices=choices,
        chosen=visit.opened.by,
        form=visit.form,
        roles=[(role, role) for role in ROLES],
    )


def register(visit: Visit) -> Response:
    """Register a person: the records know an id, the name is kept beside them."""
    form = visit.form

    def record() -> None:
        identifier = form.text("id", required="Give a short id; entries bear it.")
        name = form.text("name", required="Enter the name.")
        refuse_faulty(form)
        person = Person(identifier, form.text("role") or "analyst")
        establishing.register_person(visit.opened, person, name, key=form.key)

    return recorded(visit, record, lambda status: show(visit, status), "/people")


def choose(visit: Visit) -> Response:
    """Let entries bear another person's id from now on, for one shift; not with accounts."""
    if visit.opened.has_accounts:
        raise sign_in_needed()
    person = find(visit.opened.state.people, visit.form.text("person"), "person")
    answer = see("/")
    # not “Secure”: these pages are on this PC only, without TLS
    answer.set_cookie(COOKIE, person.id, max_age=_ONE_SHIFT_S, httponly=True, samesite="strict")
    return answer
