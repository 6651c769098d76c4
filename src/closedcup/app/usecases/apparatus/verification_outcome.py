"""What repeats on a reference material say of an apparatus."""

from collections.abc import Sequence

from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.errors import Refused
from closedcup.laboratory import ReferenceMaterial
from closedcup.methods import precision_at
from closedcup.metrology import verify
from closedcup.metrology.verification import Verification
from closedcup.records.ledger import Ledger


def outcome_of(
    ledger: Ledger, material: ReferenceMaterial, results_c: Sequence[float]
) -> Verification:
    """Compare results at 101.3 kPa with a material's value, by the precision of its method.

    Raises Refused where the method states no reproducibility at that value.
    """
    reference_c = float(material.value_c)
    chosen = method_of(ledger, material.method)
    limits = precision_at(chosen, reference_c)
    if limits.reproducibility_c is None:
        raise Refused(
            "precision-not-stated",
            f"{chosen.name} states no reproducibility at {reference_c:g} °C.",
            where=f"method {chosen.id}",
            fix="Without it no permitted difference follows; see the certificate's own.",
        )
    uncertainty = material.expanded_uncertainty_c
    return verify(
        list(results_c),
        reference_value_c=reference_c,
        repeatability_c=limits.repeatability_c,
        reproducibility_c=limits.reproducibility_c,
        expanded_uncertainty_c=None if uncertainty is None else float(uncertainty),
    )
