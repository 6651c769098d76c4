"""Set a laboratory up: the site, its people, its apparatus, its reference materials."""

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find, refuse_taken
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
    ledger = opened.state
    find(ledger.apparatus, apparatus, "apparatus")
    checklist = service_checklist()
    earlier = {answer.item: answer for answer in ledger.service_answers.get(apparatus, ())}
    together = tuple({**earlier, **{answer.item: answer for answer in answers}}.values())
    still_open = checklist.open_items(together)
    record = ServiceRecord(apparatus, checklist.id, checklist.version, together)
    kind = "service-items-answered" if still_open else "apparatus-put-into-service"
    opened.record(kind, apparatus, record, key=key)
    return still_open


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
    """Take a certified liquid into stock; its value belongs to one method."""
    from closedcup.methods import method

    method(material.method)
    if opened.recorded(key) is None:
        refuse_taken(opened.state.materials, material.id, "reference material")
    opened.record("reference-material-received", material.id, material, key=key)
    return material
