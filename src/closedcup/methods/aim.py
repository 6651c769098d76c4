"""What a test is for: a finite flash point, or a flash at a limit."""

from dataclasses import dataclass

from closedcup.errors import InputError
from closedcup.quantities import Limit


@dataclass(frozen=True, slots=True)
class FiniteAim:
    """Find the flash point by steps.

    step_c: the last step, 1 or 0.5 °C. expected_corrected_c: the expected flash point at
    101.3 kPa, None when nothing is expected.
    """

    step_c: float = 1.0
    expected_corrected_c: float | None = None

    def __post_init__(self) -> None:
        require_step(self.step_c)


@dataclass(frozen=True, slots=True)
class LimitAim:
    """Say whether the sample flashes at a limit, as the limit's operator asks."""

    limit: Limit


def require_step(step_c: float) -> None:
    """Raise InputError unless the last step is one that the methods know: 1 or 0.5 °C."""
    if step_c not in (0.5, 1.0):
        raise InputError(
            "step-unknown",
            f"A last step of {step_c:g} °C is not one of the methods' steps.",
            where="step",
            fix="Choose 1 °C or 0.5 °C.",
        )


Aim = FiniteAim | LimitAim
