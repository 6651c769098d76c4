"""Who is authorised for which method, and what the laboratory asks of its people."""

from starlette.responses import Response

from closedcup.app.usecases.people import qualifying, working_rules
from closedcup.app.web.person import people
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.methods import method, methods

_ADDRESS = "/qualifications"


def show(visit: Visit, status: int = 200) -> Response:
    """Show the authorisations and the rules, with the forms to change them."""
    return page(
        visit,
        "qualifications.html",
        status=status,
        form=visit.form,
        rows=qualifying.qualifications(visit.opened),
        rules=working_rules.rules_in_force(visit.opened),
        people=people(visit.opened),
        methods=[(each.id, each.name) for each in methods()],
        name_of={each.id: each.name for each in methods()},
        who=dict(people(visit.opened)),
    )


def grant(visit: Visit) -> Response:
    """Authorise a person for a method."""
    form = visit.form

    def record() -> None:
        person = form.text("person", required="Choose who.")
        chosen = form.parsed("method", method, required="Choose the method.")
        until = form.text("until", required="Say until when: 2027-03-02.")
        evidence = form.text("evidence", required="Say on what grounds.")
        refuse_faulty(form)
        if chosen is not None:
            qualifying.grant(
                visit.opened,
                person,
                chosen.id,
                until=until,
                evidence=evidence,
                verifications=tuple(form.text("verifications").replace(",", " ").split()),
                key=form.key,
            )

    return recorded(visit, record, lambda status: show(visit, status), _ADDRESS)


def withdraw(visit: Visit) -> Response:
    """Withdraw an authorisation, with the reason."""
    form = visit.form

    def record() -> None:
        qualifying.withdraw_qualification(
            visit.opened, visit.path("qualification"), form.text("reason"), key=form.key
        )

    return recorded(visit, record, lambda status: show(visit, status), _ADDRESS)


def decide(visit: Visit) -> Response:
    """Decide on four eyes and authorisation."""
    form = visit.form

    def record() -> None:
        working_rules.decide_rules(
            visit.opened,
            four_eyes=form.checked("four_eyes"),
            authorisation=form.checked("authorisation"),
            reason=form.text("rules_reason"),
            key=form.key,
        )

    return recorded(visit, record, lambda status: show(visit, status), _ADDRESS)
