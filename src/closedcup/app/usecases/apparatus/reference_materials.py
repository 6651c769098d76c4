"""Reference materials in stock: open a bottle, how long each may be used, what is in date."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.moments import read_day
from closedcup.errors import InputError, Refused
from closedcup.laboratory import ReferenceMaterial
from closedcup.laboratory.reference_material import MaterialOpened, use_by
from closedcup.methods import method
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def open_bottle(
    opened: OpenLaboratory, material_id: str, opened_on: str | None, *, key: str | None = None
) -> Answer:
    """Record that a bottle of a reference material was opened, today unless a day is given.

    Raises InputError for a day to come, Refused for a material past its expiry.
    """
    ledger, today = opened.state, opened.clock().date()
    material = find(ledger.materials, material_id, "reference material")
    day = read_day(opened_on, "opened on") if opened_on else today
    if day > today:
        raise InputError(
            "day-to-come", f"{day} is still to come.", where="opened on", fix="Give a day past."
        )
    if material.expires_on and material.expires_on < day.isoformat():
        raise _expired(material, material.expires_on, "expired")
    opening = MaterialOpened(material_id, day.isoformat())
    opened.record("reference-material-opened", material_id, opening, key=key)
    return standing_of(opened, material_id)


def refuse_out_of_date(ledger: Ledger, material: ReferenceMaterial, day: str) -> None:
    """Raise Refused for a material past its expiry, or past its days after opening."""
    bottle = ledger.opened_materials.get(material.id)
    last = use_by(material, bottle)
    if last and last < day:
        if material.expires_on and material.expires_on <= last:
            raise _expired(material, last, "expired")
        raise _expired(material, last, "is open for too long; it could be used until")


def _expired(material: ReferenceMaterial, last: str, how: str) -> Refused:
    words = "expired on" if how == "expired" else how
    return Refused(
        "reference-material-expired",
        f"{material.liquid}, lot {material.lot}, {words} {last}.",
        where=f"reference material {material.id}",
        fix="Use one that is in date.",
    )


def said_of(ledger: Ledger, material: ReferenceMaterial) -> tuple[str, ...]:
    """Return what is worth a warning where a material is used: not opened, another edition."""
    said = []
    if material.use_within_days is not None and material.id not in ledger.opened_materials:
        said.append(
            f"When the bottle of {material.id} was opened is not on record; it is good for "
            f"{material.use_within_days} days from then: closedcup open-material {material.id}"
        )
    known = [edition.name for edition in method(material.method).editions]
    named = material.edition.casefold()
    if named and known and not any(named in each.casefold() for each in known):
        said.append(
            f"The certificate of {material.id} is for edition {material.edition}; this program "
            f"knows {', '.join(known)}. See whether anything in the method changed."
        )
    return tuple(said)


def standing_of(opened: OpenLaboratory, material_id: str) -> Answer:
    """Return a material with its value, its bottle, and until when it may be used."""
    ledger, today = opened.state, opened.clock().date().isoformat()
    material = find(ledger.materials, material_id, "reference material")
    bottle = ledger.opened_materials.get(material_id)
    last = use_by(material, bottle)
    uncertainty = material.expanded_uncertainty_c
    return {
        "material": material.id,
        "liquid": material.liquid,
        "lot": material.lot,
        "method": material.method,
        "edition": material.edition or None,
        "value_c": float(material.value_c),
        "expanded_uncertainty_c": None if uncertainty is None else float(uncertainty),
        "certificate": material.certificate,
        "expires_on": material.expires_on or None,
        "opened_on": None if bottle is None else bottle.opened_on,
        "use_within_days": material.use_within_days,
        "use_by": last or None,
        "in_date": not last or last >= today,
        "warnings": list(said_of(ledger, material)),
    }


def in_stock(opened: OpenLaboratory) -> list[Answer]:
    """Return every reference material."""
    return [standing_of(opened, each) for each in opened.state.materials]
