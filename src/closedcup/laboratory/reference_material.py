"""Reference materials and the verifications made with them."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from closedcup.laboratory.verification_conditions import VerificationConditions


@dataclass(frozen=True, slots=True)
class ReferenceMaterial:
    """A liquid whose flash point by one method is certified.

    The value belongs to the method (and edition) named here and to no other: the same liquid has
    another flash point in another cup. `expanded_uncertainty_c` is the certificate's, if given.
    edition: of the method, as the certificate names it; "" where it names none. use_within_days:
    how long the liquid may be used once its bottle is open; None where nothing is said.
    """

    id: str
    liquid: str
    lot: str
    method: str
    value_c: Decimal
    certificate: str
    expires_on: str
    expanded_uncertainty_c: Decimal | None = None
    edition: str = ""
    use_within_days: int | None = None


@dataclass(frozen=True, slots=True)
class MaterialOpened:
    """The bottle of a reference material was opened; a new bottle of the lot is opened anew."""

    material: str
    opened_on: str


def use_by(material: ReferenceMaterial, opened: MaterialOpened | None) -> str:
    """Return the last day of use: the certificate's, or earlier once the bottle is open.

    Empty where neither sets a day.
    """
    days = [material.expires_on] if material.expires_on else []
    if opened is not None and material.use_within_days is not None:
        last = date.fromisoformat(opened.opened_on) + timedelta(days=material.use_within_days)
        days.append(last.isoformat())
    return min(days, default="")


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
