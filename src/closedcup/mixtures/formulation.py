"""How much of a liquid a blend bears, or needs, to keep its flash point on one side of a limit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.line import line
from closedcup.mixtures.sweep import Sweep

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Share:
    """A declared share of the added liquid in the whole blend.

    `flash_c` is nan where there is no flash point at it. `unbounded` says that the limit is kept
    over the whole line, up to the pure added liquid (or from none of it).
    """

    share: float
    limit_c: float
    flash_c: float
    unbounded: bool


def most_share(made: Sweep, base: Array, added: Array, limit_c: float) -> Share:
    """Return the largest share of `added` in `base` up to which the flash point keeps the limit.

    `base` and `added` are declared compositions, shape (liquids,), each summing to one. Every
    smaller share keeps the limit too; larger ones beyond a gap are not considered. Raises Refused
    where the base alone is below the limit.
    """
    along = line(made, base, added, levels_c=(limit_c,))
    start_c = float(along.swept.flash_c[0])
    if start_c < limit_c:
        raise Refused(
            "limit-not-kept",
            f"The blend flashes at {start_c:.1f} °C before anything is added: below "
            f"{limit_c:g} °C.",
            where="limit",
            fix="Give a lower limit or another blend to start from.",
        )
    falling = [crossing.share for crossing in along.crossings if not crossing.rising]
    share = min(falling, default=1.0)
    return _share(made, base, added, limit_c, share, unbounded=not falling)


def least_share(made: Sweep, base: Array, added: Array, limit_c: float) -> Share:
    """Return the least share of `added` from which on the flash point is at or above the limit.

    Every larger share is too, up to where nothing is left that flashes. Raises Refused where no
    share of it lifts the blend to the limit.
    """
    along = line(made, base, added, levels_c=(limit_c,))
    last_c = float(along.swept.flash_c[-1])
    if last_c < limit_c:
        raise Refused(
            "limit-not-reached",
            f"No share of it lifts the flash point to {limit_c:g} °C for good: alone it flashes "
            f"at {last_c:.1f} °C.",
            where="limit",
            fix="Give a lower limit or another liquid to add.",
        )
    rising = [crossing.share for crossing in along.crossings if crossing.rising]
    share = max(rising, default=0.0)
    return _share(made, base, added, limit_c, share, unbounded=not rising)


def _share(  # noqa: PLR0913 - a line, a limit and the place found on it
    made: Sweep, base: Array, added: Array, limit_c: float, share: float, *, unbounded: bool
) -> Share:
    flash_c = float(made.at((1 - share) * base + share * added).flash_c[0])
    return Share(share, limit_c, flash_c, unbounded)
