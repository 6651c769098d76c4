"""Rounding by a stated rule: half away from zero ("half up"), on a grid, without binary noise."""

from decimal import ROUND_HALF_UP, Decimal

_NOISE_DIGITS = 9  # a float result such as 60.249999999999 is 60.25 written in binary


def round_half_up(value: float, step: float) -> float:
    """Round to the nearest multiple of `step`; a tie goes away from zero.

    Test methods print values to 0.5 or 1 degree and do not state the tie rule; the choice is
    explained in docs/decisions. `step` is positive and has at most nine decimals.
    """
    noise_free = Decimal(repr(round(value, _NOISE_DIGITS)))
    grid = Decimal(repr(step))
    return float((noise_free / grid).to_integral_value(ROUND_HALF_UP) * grid)


def decimal_text(value: float, step: float) -> str:
    """Write a value with as many decimals as its step has: 60.0 for 0.5, 60 for 1."""
    decimals = max(0, -int(Decimal(repr(step)).normalize().as_tuple().exponent))
    rounded = round_half_up(value, step)
    text = f"{rounded:.{decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text
