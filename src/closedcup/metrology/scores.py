"""Scores of a participant: how far a result lies from the assigned value, in several units.

ISO 13528 and ISO/IEC 17043 (memory).
"""

from dataclasses import dataclass
from math import sqrt

from closedcup.errors import InputError


@dataclass(frozen=True, slots=True)
class Scores:
    """z, z′ (with the assigned value's uncertainty), ζ and Eₙ (None without the participant's)."""

    z: float
    z_prime: float
    zeta: float | None
    en: float | None
    uncertainty_negligible: bool

    @property
    def chosen(self) -> float:
        """Return z, or z′ where the assigned value's uncertainty is not negligible."""
        return self.z if self.uncertainty_negligible else self.z_prime

    @property
    def standing(self) -> str:
        """Return "satisfactory" up to 2, "questionable" up to 3, else "action"."""
        return standing(self.chosen)


def scores(  # noqa: PLR0913  (each names itself at the call)
    result: float,
    *,
    assigned: float,
    assigned_uncertainty: float,
    deviation: float,
    result_uncertainty: float | None = None,
    coverage_factor: float = 2.0,
) -> Scores:
    """Score a result. All in one unit; uncertainties are standard ones.

    `deviation` is σ for proficiency assessment. The assigned value's uncertainty is negligible
    below 0.3 σ. Raises InputError for a deviation that is not positive or a negative uncertainty.
    """
    uncertainties = (assigned_uncertainty, result_uncertainty or 0.0)
    if not deviation > 0 or min(uncertainties) < 0:
        raise InputError(
            "deviation",
            f"Scores need a positive standard deviation (not {deviation:g}) and uncertainties "
            "that are not negative.",
            where="scores",
            fix="Take σ from the round's report.",
        )
    away = result - assigned
    both = None
    if result_uncertainty is not None:
        both = sqrt(result_uncertainty**2 + assigned_uncertainty**2)
        if both == 0:
            raise InputError(
                "uncertainty",
                "ζ needs an uncertainty above zero.",
                where="scores",
                fix="Give the standard uncertainty of the result, or leave it out.",
            )
    return Scores(
        z=away / deviation,
        z_prime=away / sqrt(deviation**2 + assigned_uncertainty**2),
        zeta=None if both is None else away / both,
        en=None if both is None else away / (coverage_factor * both),
        uncertainty_negligible=assigned_uncertainty < 0.3 * deviation,
    )


def standing(score: float) -> str:
    """Return what a z, z′ or ζ score means."""
    if abs(score) <= 2:
        return "satisfactory"
    return "questionable" if abs(score) < 3 else "action"
