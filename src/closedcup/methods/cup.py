"""What a cup can be set to."""

from typing import Final

from closedcup.quantities import round_half_up

CUP_RESOLUTION_C: Final = 0.1  # the display of the usual cup (common practice)
SAME_C: Final = 1e-6  # temperatures closer than this are one temperature


def settable(cup_c: float) -> float:
    """Round a cup temperature to what a cup can be set to."""
    return round_half_up(cup_c, CUP_RESOLUTION_C)
