"""Who is authorised for which method, on what grounds; and what is refused without."""

from datetime import date
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Verification
from closedcup.laboratory.qualification import Qualification, QualificationWithdrawn
from closedcup.methods import method as find_method
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def grant(
    opened: OpenLaboratory,
    person: str,
    method: str,
    *,
    until: str,
    evidence: str,
    verifications: tuple[str, ...] = (),
    key: str | None = None,
) -> Answer:
    """Authorise a person for a method until a day, on evidence in words.

    verifications: those that the person made with a reference material for this method, in
    control: repeat tests that show the skill.
    """
    if (earlier := opened.recorded(key)) is not None:
        return _told(opened, opened.state.qualifications[earlier.subject])
    ledger = opened.permit("qualification-granted")
    find(ledger.people, person, "person")
    chosen = find_method(method)
    if ledger.rules.four_eyes and person == opened.by:
        raise Refused(
            "four-eyes",
            "Nobody authorises themselves where the laboratory asks for four eyes.",
            where=f"person {person}",
            fix="Ask another quality lead.",
        )
    for each in verifications:
        _refuse_unfit_evidence(ledger, person, chosen.id, each)
    today = opened.clock().date().isoformat()
    qualification = Qualification(
        id=f"Q-{len(ledger.qualifications) + 1:04d}",
        person=person,
        method=chosen.id,
        granted_by=opened.by,
        granted_on=today,
        until=_day_after(today, until),
        evidence=in_words(evidence, "evidence"),
        verifications=verifications,
    )
    opened.record("qualification-granted", qualification.id, qualification, key=key)
    return _told(opened, qualification)


def withdraw_qualification(
    opened: OpenLaboratory, qualification: str, reason: str, *, key: str | None = None
) -> Answer:
    """Withdraw an authorisation from now on; it stays on record with the reason."""
    if opened.recorded(key) is None:
        ledger = opened.permit("qualification-withdrawn")
        find(ledger.qualifications, qualification, "qualification")
        if qualification in ledger.withdrawn:
            raise InputError(
                "already-withdrawn",
                f"{qualification} was withdrawn already: {ledger.withdrawn[qualification].reason}",
                where=f"qualification {qualification}",
            )
        withdrawn = QualificationWithdrawn(
            qualification,
            ledger.qualifications[qualification].person,
            in_words(reason, "reason"),
            opened.clock().isoformat(),
        )
        opened.record("qualification-withdrawn", qualification, withdrawn, key=key)
    return _told(opened, opened.state.qualifications[qualification])


def qualifications(opened: OpenLaboratory, person: str | None = None) -> list[Answer]:
    """Return all authorisations, or one person's, each with whether it holds today."""
    ledger = opened.state
    if person is not None:
        find(ledger.people, person, "person")
    return [
        _told(opened, each)
        for each in ledger.qualifications.values()
        if person in (None, each.person)
    ]


def is_authorised(ledger: Ledger, person: str, method: str, day: str) -> bool:
    """Say whether a person is authorised for a method on a day, 2026-03-02."""
    wanted = find_method(method)
    return any(
        each.person == person and each.covers(wanted, day) and each.id not in ledger.withdrawn
        for each in ledger.qualifications.values()
    )


def refuse_unauthorised(ledger: Ledger, person: str, method: str, day: str) -> None:
    """Raise Refused where authorisation is asked for and the person has none for the method."""
    if not ledger.rules.authorisation or is_authorised(ledger, person, method, day):
        return
    raise Refused(
        "not-authorised",
        f"{person} is not authorised for {find_method(method).name} on {day}: "
        + _standing(ledger, person, method),
        where=f"person {person}",
        fix=f"A quality lead authorises on evidence: closedcup qualify {person} --method {method} "
        "--until … --evidence …",
    )


def authorisation_warning(ledger: Ledger, person: str, method: str, day: str) -> tuple[str, ...]:
    """Say that a person has no authorisation, where the laboratory keeps them but asks for none."""
    if not ledger.qualifications or is_authorised(ledger, person, method, day):
        return ()
    said = f"{person} is not authorised for this method: {_standing(ledger, person, method)}"
    return (said,)


def _standing(ledger: Ledger, person: str, method: str) -> str:
    wanted = find_method(method)
    held = [
        each
        for each in ledger.qualifications.values()
        if each.person == person and each.covers(wanted, each.granted_on)
    ]
    if not held:
        return "no qualification is on record."
    last = held[-1]
    if last.id in ledger.withdrawn:
        return f"{last.id} was withdrawn: {ledger.withdrawn[last.id].reason}"
    return f"{last.id} holds from {last.granted_on} to {last.until}."


def _refuse_unfit_evidence(ledger: Ledger, person: str, method: str, verification: str) -> None:
    made: dict[str, Verification] = {
        each.id: each for checks in ledger.verifications.values() for each in checks
    }
    check = find(made, verification, "verification")
    conditions = check.conditions
    operator = ledger.verified_by[check.id] if conditions is None else conditions.operator
    speaks = check in ledger.verifications_for(check.apparatus, method)
    if speaks and check.in_control and person == (operator or ledger.verified_by[check.id]):
        return
    raise Refused(
        "evidence-unfit",
        f"Verification {verification} does not show that {person} can do this: it was made by "
        f"{operator or ledger.verified_by[check.id]} by {find_method(check.method).name}, "
        + ("in control." if check.in_control else "out of control."),
        where="verification",
        fix="Name one that the person made for this method, in control.",
    )


def _day_after(today: str, text: str) -> str:
    try:
        day = date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise InputError(
            "date-unreadable", f"“{text}” is not a date.", where="until", fix="Write 2027-03-02."
        ) from None
    if day < today:
        raise InputError(
            "date-past", f"{day} is over.", where="until", fix="Give a day that is still to come."
        )
    return day


def _told(opened: OpenLaboratory, qualification: Qualification) -> Answer:
    ledger, today = opened.state, opened.clock().date().isoformat()
    withdrawn = ledger.withdrawn.get(qualification.id)
    state = "holds" if today <= qualification.until else "expired"
    return {
        "id": qualification.id,
        "person": qualification.person,
        "name": opened.name_of(qualification.person),
        "method": qualification.method,
        "granted_by": qualification.granted_by,
        "granted_on": qualification.granted_on,
        "until": qualification.until,
        "evidence": qualification.evidence,
        "verifications": list(qualification.verifications),
        "state": state if withdrawn is None else "withdrawn",
        "withdrawn": None if withdrawn is None else withdrawn.reason,
    }
