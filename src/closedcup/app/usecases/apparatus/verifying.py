"""Verify an apparatus against a reference material."""

from decimal import Decimal
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.reference_materials import refuse_out_of_date, said_of
from closedcup.app.usecases.apparatus.verification_conditions import completed
from closedcup.app.usecases.apparatus.verification_outcome import outcome_of
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming.doubts import flagged_by, refuse_held
from closedcup.laboratory import Verification, VerificationConditions
from closedcup.quantities import Temperature


def verify_apparatus(
    opened: OpenLaboratory,
    apparatus_id: str,
    material_id: str,
    results: tuple[Temperature, ...],
    *,
    made_under: VerificationConditions | None = None,
    key: str | None = None,
) -> dict[str, Any]:
    """Compare repeats on a reference material with its value for the method; record the outcome.

    The permitted difference follows from the method's r and R at the reference value for the
    number of repeats, and from the certificate's uncertainty where it is given. Out of control, the
    results made since the last good check are flagged; they are in the answer. Refused with a lot
    that is held or past its use; an apparatus that is held is verified all the same, to find out.
    `made_under` is completed from the records.
    """
    ledger = opened.state
    find(ledger.apparatus, apparatus_id, "apparatus")
    material = find(ledger.materials, material_id, "reference material")
    refuse_held(ledger, "material", material_id)
    refuse_held(ledger, "person", opened.by)
    refuse_out_of_date(ledger, material, opened.clock().date().isoformat())
    found = outcome_of(ledger, material, [result.c for result in results])
    conditions, said = completed(opened, apparatus_id, made_under or VerificationConditions())
    done = ledger.verifications.get(apparatus_id, ())
    verification = Verification(
        id=f"{apparatus_id}-V{len(done) + 1}",
        apparatus=apparatus_id,
        material=material_id,
        method=material.method,
        results_c=tuple(Decimal(repr(round(result.c, 6))) for result in results),
        mean_c=found.mean_c,
        reference_c=float(material.value_c),
        difference_c=found.bias_c,
        permitted_c=found.limit_c,
        in_control=found.in_control,
        verified_at=opened.clock().isoformat(),
        conditions=conditions,
    )
    opened.record("apparatus-verified", apparatus_id, verification, key=key)
    flagged = () if found.in_control else flagged_by(opened.state, verification.id)
    return {
        "id": verification.id,
        "apparatus": apparatus_id,
        "material": material_id,
        "method": material.method,
        "results_c": [result.c for result in results],
        "mean_c": found.mean_c,
        "reference_c": float(material.value_c),
        "difference_c": found.bias_c,
        "permitted_c": found.limit_c,
        "in_control": found.in_control,
        "flagged": [{"id": each.id, "statement": each.statement} for each in flagged],
        "warnings": [*said, *said_of(ledger, material)],
    }
