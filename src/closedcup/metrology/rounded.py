"""Write an uncertainty with two digits and its value to the same place."""

from decimal import ROUND_HALF_UP, Decimal

from closedcup.errors import InputError


def rounded_pair(value: float, uncertainty: float) -> tuple[str, str]:
    """Return (value, uncertainty) as text: the uncertainty to two significant digits, half up.

    GUM 7.2.6: at most two digits, and the value to the same place. Raises InputError for an
    uncertainty that is not positive.
    """
    if not uncertainty > 0:
        raise InputError("uncertainty", "A positive uncertainty sets the place.", where="rounding")
    first = Decimal(repr(uncertainty))
    place = Decimal(1).scaleb(first.adjusted() - 1)
    short = first.quantize(place, ROUND_HALF_UP)
    if short.adjusted() > first.adjusted():  # 0.0996 became 0.100: one digit too many
        place = Decimal(1).scaleb(short.adjusted() - 1)
        short = short.quantize(place, ROUND_HALF_UP)
    exact = Decimal(repr(value)).quantize(place, ROUND_HALF_UP)
    return f"{exact:f}", f"{short:f}"
