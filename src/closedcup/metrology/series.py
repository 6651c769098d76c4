"""A series of figures as it enters a statistic: long enough, of numbers, and with a spread."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import InputError, Refused

Floats = NDArray[np.float64]


def checked(values: ArrayLike, *, at_least: int, purpose: str, spread: bool = True) -> Floats:
    """Return values as an array of one dimension.

    Raises InputError where one is not a number, Refused where there are fewer than `at_least`
    or, with `spread`, where all are the same. `purpose` finishes "… needs at least n values".
    """
    array = np.asarray(values, dtype=np.float64).ravel()
    if not np.isfinite(array).all():
        position = int(np.flatnonzero(~np.isfinite(array))[0]) + 1
        raise InputError(
            "not-a-number",
            f"Value {position} is not a number.",
            where="values",
            fix="Leave out what was not measured.",
        )
    if array.size < at_least:
        raise Refused(
            "too-few-values",
            f"{purpose} needs at least {at_least} values; there are {array.size}.",
            where="values",
            fix="Collect more results first.",
        )
    if spread and np.ptp(array) == 0:
        raise Refused(
            "no-spread",
            f"All {array.size} values are {array[0]:g}: {purpose} needs a spread.",
            where="values",
            fix="Look for copied results, or for rounding coarser than the scatter; with the "
            "resolution given, a bound on the standard deviation can be had.",
        )
    return array
