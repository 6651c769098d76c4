"""Set a laboratory up: the site, its people, its apparatus, its reference materials."""

from collections.abc import Iterable
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find, refuse_taken
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError
from closedcup.laboratory import (
    Apparatus,
    ChecklistItem,
    Person,
    ProbeCheck,
    ReferenceMaterial,
    ServiceAnswer,
    ServiceRecord,
    Site,
    service_checklist,
)
from closedcup.laboratory.people import ROLES


def establish(opened: OpenLaboratory, site: Site, *, key: str | None = None) -> Site:
    """Say which laboratory these records belong to; once."""
    if opened.recorded(key) is None and opened.state.site is not None:
        raise InputError(
            "laboratory-established",
            f"These records already belong to {opened.state.site.name}.",
            where=opened.store.place,
            fix="Keep another laboratory's records in another file (CLOSEDCUP_DATABASE).",
        )
    opened.record("laboratory-established", "laboratory", site, key=key)
    return site


def register_person(
    opened: OpenLaboratory, person: Person, name: str, *, key: str | None = None
) -> Person:
    """Register a person's id and role; the name is kept outside the chain."""
    if person.role not in ROLES:
        raise InputError(
            "role-unknown",
            f"“{person.role}” is not a role here.",
            where="role",
            fix=f"Use one of: {', '.join(ROLES)}.",
        )
    if opened.recorded(key) is None:
        refuse_taken(opened.state.people, person.id, "person")
    opened.record("person-registered", person.id, person, key=key)
    opened.store.set_name(person.id, name)
    return person


def erase_name(
    opened: OpenLaboratory, person: str, reason: str, *, key: str | None = None
) -> dict[str, Any]:
    """Erase a person's name; their id stays in what they did, and on reports as issued.

    Backups taken before still hold the name: after a restore it has to be erased again.
    """
    find(opened.state.people, person, "person")
    body = {"person": person, "reason": in_words(reason, "reason")}
    opened.record("name-erased", person, body, key=key)
    opened.store.erase_name(person)
    return {"person": person, "name": None, "reason": reason}


def register_apparatus(
    opened: OpenLaboratory, apparatus: Apparatus, *, key: str | None = None
) -> Apparatus:
    """Register an apparatus with what it can reach and which methods it can run."""
    from closedcup.methods import method

    for identifier in apparatus.methods:
        method(identifier)
    if apparatus.lowest_cup_c >= apparatus.highest_cup_c:
        raise InputError(
            "range-empty",
            f"From {apparatus.lowest_cup_c} °C to {apparatus.highest_cup_c} °C is no range.",
            where=f"apparatus {apparatus.id}",
            fix="Give the lowest and the highest cup temperature that it reaches.",
        )
    if opened.recorded(key) is None:
        refuse_taken(opened.state.apparatus, apparatus.id, "apparatus")
    opened.record("apparatus-registered", apparatus.id, apparatus, key=key)
    return apparatus


def put_into_service(
    opened: OpenLaboratory,
    apparatus: str,
    answers: tuple[ServiceAnswer, ...],
    *,
    key: str | None = None,
) -> tuple[ChecklistItem, ...]:
    """Record answers to the put-into-service checklist; return the items still open.

    Answers given earlier count. The apparatus is in service once no item is open.
    """
    find(opened.state.apparatus, apparatus, "apparatus")
    return _answer(opened, apparatus, answers, reason="", key=key)


def _answer(
    opened: OpenLaboratory,
    apparatus: str,
    answers: tuple[ServiceAnswer, ...],
    *,
    reason: str,
    key: str | None,
) -> tuple[ChecklistItem, ...]:
    checklist = service_checklist()
    earlier = {each.item: each for each in opened.state.service_answers.get(apparatus, ())}
    together = tuple({**earlier, **{answer.item: answer for answer in answers}}.values())
    still_open = checklist.open_items(together)
    record = ServiceRecord(apparatus, checklist.id, checklist.version, together)
    kind = "service-items-answered" if still_open else "apparatus-put-into-service"
    opened.record(kind, apparatus, record, key=key, reason=reason)
    return still_open


def answer_again(
    opened: OpenLaboratory,
    apparatus: str,
    answer: ServiceAnswer,
    reason: str,
    *,
    key: str | None = None,
) -> tuple[ChecklistItem, ...]:
    """Answer an item of the put-into-service checklist anew; return the items open then.

    The earlier answer stays in the records. An item that is no longer as it should be (not done)
    takes the apparatus out of service until it is.
    """
    ledger = opened.state
    find(ledger.apparatus, apparatus, "apparatus")
    given = {each.item for each in ledger.service_answers.get(apparatus, ())}
    if answer.item not in given:
        raise InputError(
            "item-not-answered",
            f"Item “{answer.item}” of {apparatus} has no answer yet.",
            where=f"apparatus {apparatus}",
            fix=f"Answered: {', '.join(sorted(given)) or 'none'}. "
            f"Answer others with: closedcup put-into-service {apparatus} --done ITEM",
        )
    if not reason.strip():
        raise InputError(
            "reason-missing",
            "An item is answered again with a reason.",
            where=f"apparatus {apparatus}, item {answer.item}",
            fix="Say what was wrong with the earlier answer, or what has changed since.",
        )
    return _answer(opened, apparatus, (answer,), reason=" ".join(reason.split()), key=key)


def record_probe_check(
    opened: OpenLaboratory, check: ProbeCheck, *, key: str | None = None
) -> ProbeCheck:
    """Record the probe's correction, or that none is on record."""
    find(opened.state.apparatus, check.apparatus, "apparatus")
    opened.record("probe-checked", check.apparatus, check, key=key)
    return check


def receive_reference_material(
    opened: OpenLaboratory, material: ReferenceMaterial, *, key: str | None = None
) -> ReferenceMaterial:
    """Take a certified liquid into stock; its value belongs to one method and edition.

    InputError where the same lot has another value for the same method and edition already: one
    of the two certificates was read wrong.
    """
    from closedcup.methods import method

    method(material.method)
    if opened.recorded(key) is None:
        refuse_taken(opened.state.materials, material.id, "reference material")
        _refuse_contradiction(opened.state.materials.values(), material)
    opened.record("reference-material-received", material.id, material, key=key)
    return material


def _refuse_contradiction(stock: Iterable[ReferenceMaterial], received: ReferenceMaterial) -> None:
    for each in stock:
        same = (each.liquid, each.lot, each.method, each.edition) == (
            received.liquid,
            received.lot,
            received.method,
            received.edition,
        )
        if same and each.value_c != received.value_c:
            raise InputError(
                "evidence-contradictory",
                f"{each.liquid}, lot {each.lot}, has {each.value_c} °C by {each.method} on "
                f"record as {each.id}; this says {received.value_c} °C.",
                where=f"reference material {received.id}",
                fix="Read both certificates again; name the method's edition where it differs.",
            )
