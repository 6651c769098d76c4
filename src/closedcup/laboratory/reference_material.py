"""Reference materials and the verifications made with them."""

from dataclasses import dataclass
from decimal import Decimal

from closedcup.laboratory.verification_conditions import VerificationConditions


@dataclass(frozen=True, slots=True)
class ReferenceMaterial:
    """A liquid whose flash point by one method is certified.

    The value belongs to the method (and edition) named here and to no other: the same liquid has
    another flash point in another cup. `expanded_uncertainty_c` is the certificate's, if given.
    """

    id: str
    liquid: str
    lot: str
    method: str
    value_c: Decimal
    certificate: str
    expires_on: str
    expanded_uncertainty_c: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Verification:
    """A check of an apparatus against a reference material, with the numbers as computed then.

    `results_c` are corrected to 101.3 kPa. `permitted_c` is the largest difference of their mean
    from the reference value that repeatability and reproducibility allow. `conditions` is None for
    verifications recorded before they were asked for.
    """

    id: str
    apparatus: str
    material: str
    method: str
    results_c: tuple[Decimal, ...]
    mean_c: float
    reference_c: float
    difference_c: float
    permitted_c: float
    in_control: bool
    verified_at: str
    conditions: VerificationConditions | None = None
