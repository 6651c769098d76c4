"""Proficiency testing: one result that the laboratory sent to a round, and how it was scored."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class ProficiencyResult:
    """A result in a round, with the assigned value and the scores as computed then.

    result_c and assigned_c are corrected to 101.3 kPa; the uncertainties are standard ones and
    None where they are not known; deviation_c is σ for proficiency assessment. person and
    apparatus are ids, "" where it is not on record. zeta and en are None without the result's
    uncertainty.
    """

    id: str
    round: str
    provider: str
    held_on: str
    material: str
    method: str
    person: str
    apparatus: str
    result_c: Decimal
    result_uncertainty_c: Decimal | None
    assigned_c: Decimal
    assigned_uncertainty_c: Decimal | None
    deviation_c: Decimal
    z: float
    z_prime: float
    zeta: float | None
    en: float | None
    judged_by: str
    standing: str

    @property
    def score(self) -> float:
        """Return the score that it is judged by: z, or z′ where the value is uncertain."""
        return self.z if self.judged_by == "z" else self.z_prime
