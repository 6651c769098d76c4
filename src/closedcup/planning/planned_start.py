"""Where to start a finite search so that, as the method writes it, it costs least."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.methods.cup import SAME_C
from closedcup.methods.search import Steps
from closedcup.planning.belief import Belief
from closedcup.planning.observing import Floats
from closedcup.planning.pace import Pace, Weights
from closedcup.planning.searching import Ladder
from closedcup.planning.written_search import expected_costs

STEADY_SCATTER_C: Final = 0.2
"""Up to this scatter two starts give one value in all but 1 of 10,000 simulated samples; above it
(0.04 % at 0.3 °C, 2 % at 0.6 °C, 9 % at 1 °C) not always. Measured by `benchmarks/planning.py`."""


@dataclass(frozen=True, slots=True)
class PlannedStart:
    """The start of a finite search that costs least, beside the usual one.

    Means over the belief for the search as the method writes it. keeps_value: whether the start
    lies whole first steps from the usual one, so that both come to one value whatever scatters.
    """

    start_cup_c: float
    specimens: float
    minutes: float
    overshoots: float
    usual_start_cup_c: float
    usual_specimens: float
    usual_minutes: float
    usual_overshoots: float
    keeps_value: bool
    why: tuple[str, ...]


def plan_start(  # noqa: PLR0913 - what is believed, by which steps, within which range
    belief: Belief,
    steps: Steps,
    *,
    lowest_cup_c: float,
    highest_cup_c: float,
    ceiling_cup_c: float,
    pace: Pace,
    weights: Weights,
    usual_cup_c: float | None = None,
    scatter_c: float = 0.0,
) -> PlannedStart:
    """Return the whole degree from which the search as written costs least.

    ceiling_cup_c: no start lies above it (the lowest temperature that anything points to).
    usual_cup_c: the start that the method's rule gives, the mean of the belief unless given.
    scatter_c: of the specimens; where it can move the value from one start to another, only
    starts that lie whole first steps from the usual one are looked at. The start is all that the
    clause leaves free; from there the method prescribes every temperature.
    """
    spacing_c = steps.half_c or steps.fine_c
    first_c = float(np.ceil(lowest_cup_c - SAME_C))
    ladder = Ladder(first_c, spacing_c, int((highest_cup_c - first_c) / spacing_c + SAME_C) + 1)
    wanted_c = float(np.floor(belief.mean_cup_c)) if usual_cup_c is None else usual_cup_c
    usual_c = max(min(wanted_c, highest_cup_c), first_c)
    top_c = max(float(np.floor(min(ceiling_cup_c, highest_cup_c) + SAME_C)), first_c)
    floor_c = max(first_c, min(belief.interval_cup_c()[0], top_c) - 4 * steps.coarse_c)
    keeps = scatter_c > STEADY_SCATTER_C
    free_c = (
        _same_ladder(usual_c, steps.coarse_c, floor_c, top_c)
        if keeps
        else np.arange(np.ceil(floor_c), top_c + 0.5)
    )
    starts = np.array([ladder.place(one) for one in (*free_c, usual_c)])
    found = expected_costs(belief, ladder, steps, starts, pace=pace, weights=weights)
    best, usual = int(np.argmin(found.cost_min[:-1])), -1
    start_c = float(found.start_cup_c[best])
    why = [
        (
            f"From {start_c:g} °C the search takes {found.specimens[best]:.1f} specimens "
            f"and {found.minutes[best]:.0f} minutes on average, with {found.overshoots[best]:.2f} "
            f"specimens more than {weights.overshoot_c:g} °C above the flash point."
        )
    ]
    if abs(start_c - usual_c) > SAME_C:
        why.append(
            f"From {usual_c:g} °C, the usual start, it would take {found.specimens[usual]:.1f}, "
            f"{found.minutes[usual]:.0f} and {found.overshoots[usual]:.2f}."
        )
    else:
        why.append("No lower start that the method allows costs less.")
    if keeps:
        why.append(
            f"Specimens scatter by {scatter_c:.2g} °C: only starts whole steps of "
            f"{steps.coarse_c:g} °C away come to the same value."
        )
    if start_c > top_c - 0.5 and top_c < np.floor(belief.mean_cup_c):
        why.append(f"No start above {ceiling_cup_c:.1f} °C: something points that low.")
    return PlannedStart(
        start_cup_c=start_c,
        specimens=float(found.specimens[best]),
        minutes=float(found.minutes[best]),
        overshoots=float(found.overshoots[best]),
        usual_start_cup_c=usual_c,
        usual_specimens=float(found.specimens[usual]),
        usual_minutes=float(found.minutes[usual]),
        usual_overshoots=float(found.overshoots[usual]),
        keeps_value=keeps,
        why=tuple(why),
    )


def _same_ladder(usual_c: float, coarse_c: float, floor_c: float, top_c: float) -> Floats:
    """Return the starts within a range that lie whole first steps from the usual one."""
    least = np.ceil((usual_c - top_c) / coarse_c - SAME_C)
    most = max(np.floor((usual_c - floor_c) / coarse_c + SAME_C), least)
    starts_c = usual_c - coarse_c * np.arange(least, most + 1)
    within = starts_c >= floor_c - SAME_C
    return starts_c[within] if within.any() else np.array([max(floor_c, min(usual_c, top_c))])
