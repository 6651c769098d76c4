"""How many specimens a test as written takes, and how much sample that is."""

import math
from dataclasses import dataclass

from closedcup.methods import FiniteAim, LimitAim, Method

_NO_FLASHES_AT_A_LIMIT = 2  # a no flash is repeated once (common practice)


@dataclass(frozen=True, slots=True)
class SampleNeed:
    """What the procedure as written takes, voids and repeats aside.

    expected: specimens if the flash point is the one expected; at_most: if it is the highest to
    reckon with; volume_ml: for the most.
    """

    expected: int
    at_most: int
    volume_ml: float


def sample_need(
    method: Method,
    aim: FiniteAim | LimitAim,
    product: str,
    *,
    start_cup_c: float,
    flash_cup_c: tuple[float, float],
) -> SampleNeed:
    """Return the need of a test; flash_cup_c: expected and highest flash point on the cup's scale.

    Every specimen is counted with the largest volume that any temperature on the way asks.
    """
    expected_c, highest_c = flash_cup_c
    expected, high = (
        specimens_as_written(method, aim, start_cup_c=start_cup_c, flash_cup_c=one)
        for one in (expected_c, highest_c)
    )
    at_most = max(expected, high)
    rule = method.specimen_rule(product, max(start_cup_c, highest_c))
    return SampleNeed(expected, at_most, at_most * rule.volume.value)


def specimens_as_written(
    method: Method, aim: FiniteAim | LimitAim, *, start_cup_c: float, flash_cup_c: float
) -> int:
    """Return the most specimens that the procedure takes, voids and repeats aside.

    Equilibrium: floor(|e|/5) + 2 by 5 °C, at most 4 by 1 °C, 1 by 0.5 °C, with e the distance of
    the flash point from the start (counted from the procedure). A heated specimen is one, one more
    for each start above the flash point, and one where the flash misses the method's window. At a
    limit: two.
    """
    if isinstance(aim, LimitAim):
        return _NO_FLASHES_AT_A_LIMIT
    distance_c = flash_cup_c - start_cup_c
    if method.procedure != "equilibrium":
        return _heated(method, distance_c)
    coarse_c, fine_c = method.number("coarse_step").value, method.number("fine_step").value
    # rounded first: 4.999999 steps are 5 steps in binary
    coarse = math.floor(round(abs(distance_c) / coarse_c, 6)) + 2
    fine = math.ceil(coarse_c / fine_c) - 1
    return coarse + fine + (1 if aim.step_c < fine_c else 0)


def _heated(method: Method, distance_c: float) -> int:
    low, high = (method.numbers.get(f"window_{end}") for end in ("low", "high"))
    from_above = 0
    if distance_c <= 0:
        steps = round(-distance_c / method.number("start_offset").value, 6)
        from_above = 1 + math.floor(steps)
    if low is None or high is None:
        return from_above + 1
    widest_c = max(rule.interval.value for rule in method.intervals)
    inside = low.value <= distance_c <= high.value - widest_c
    return from_above + (1 if inside else 2)


def sample_warnings(
    method: Method, need: SampleNeed | None, available_ml: float | None
) -> tuple[str, ...]:
    """Say when the sample left is less than the method or the test asks."""
    if available_ml is None:
        return ("The volume of sample left is not on record.",)
    warnings: list[str] = []
    least = method.numbers.get("least_sample")
    if least is not None and available_ml < least.value:
        warnings.append(
            f"{available_ml:g} mL of sample is less than the {least.value:g} mL that "
            f"{method.designation} asks."
        )
    if need is not None and need.volume_ml > available_ml:
        warnings.append(
            f"Up to {need.at_most} specimens ({need.volume_ml:g} mL) may be needed; "
            f"{available_ml:g} mL is left."
        )
    return tuple(warnings)
