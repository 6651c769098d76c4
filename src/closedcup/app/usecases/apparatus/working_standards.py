"""Set the value of a working standard from repeats, and take it into stock."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.establishing import receive_reference_material
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.usecases.nonconforming.doubts import refuse_held
from closedcup.errors import Refused
from closedcup.laboratory import ApparatusState, ReferenceMaterial
from closedcup.methods import precision_at
from closedcup.metrology import working_standard
from closedcup.quantities import Temperature

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Product:
    """What becomes a working standard: a stable product, kept in small filled bottles, sealed."""

    id: str
    liquid: str
    lot: str
    method: str
    expires_on: str


def set_working_standard(
    opened: OpenLaboratory,
    product: Product,
    apparatus_id: str,
    results: Sequence[Temperature],
    *,
    key: str | None = None,
) -> Answer:
    """Set a product's value by results on an apparatus that is in control; record it.

    Refused on an apparatus that is not in control for the method, for fewer than three results,
    or for results that do not repeat within r.
    """
    ledger = opened.state
    find(ledger.apparatus, apparatus_id, "apparatus")
    chosen = method_of(ledger, product.method)
    state = ledger.apparatus_state(apparatus_id, chosen.id)
    if state is not ApparatusState.IN_CONTROL:
        raise Refused(
            "apparatus-not-in-control",
            f"{apparatus_id} is {state} for {chosen.id}; a value set on it would carry its error.",
            where=f"apparatus {apparatus_id}",
            fix="Verify it first with a certified reference material: closedcup verify",
        )
    refuse_held(ledger, "apparatus", apparatus_id)
    values = [result.c for result in results]
    middle_c = sum(values) / max(len(values), 1)
    limits = precision_at(chosen, middle_c)
    found = working_standard(values, repeatability_c=limits.repeatability_c)
    today = opened.clock().date().isoformat()
    material = ReferenceMaterial(
        id=product.id,
        liquid=product.liquid,
        lot=product.lot,
        method=chosen.id,
        value_c=Decimal(repr(round(found.value_c, 2))),
        certificate=f"own: mean of {found.n} results on {apparatus_id}, {today}",
        expires_on=product.expires_on,
    )
    receive_reference_material(opened, material, key=key)
    return {
        "material": material.id,
        "liquid": material.liquid,
        "method": material.method,
        "value_c": float(material.value_c),
        "deviation_c": found.deviation_c,
        "results": found.n,
        "left_out_c": list(found.left_out_c),
        "repeatability_c": limits.repeatability_c,
        "certificate": material.certificate,
        "note": "The value is this site's own: it shows drift and scatter, not bias. Verify with a "
        "certified material too.",
    }
