"""Where to start a finite search so that, as the method writes it, it costs least."""

from dataclasses import dataclass

import numpy as np

from closedcup.methods.cup import SAME_C
from closedcup.methods.search import Steps
from closedcup.planning.belief import Belief
from closedcup.planning.pace import Pace, Weights
from closedcup.planning.searching import Ladder
from closedcup.planning.written_search import expected_costs


@dataclass(frozen=True, slots=True)
class PlannedStart:
    """The start of a finite search that costs least, beside that at the expected value.

    Means over the belief for the search as the method writes it.
    """

    start_cup_c: float
    specimens: float
    minutes: float
    overshoots: float
    usual_start_cup_c: float
    usual_specimens: float
    usual_minutes: float
    usual_overshoots: float
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
) -> PlannedStart:
    """Return the whole degree from which the search as written costs least.

    ceiling_cup_c: no start lies above it (the lowest temperature that anything points to). The
    start is all that the clause leaves free; from there the method prescribes every temperature.
    """
    spacing_c = steps.half_c or steps.fine_c
    first_c = float(np.ceil(lowest_cup_c - SAME_C))
    ladder = Ladder(first_c, spacing_c, int((highest_cup_c - first_c) / spacing_c + SAME_C) + 1)
    usual_c = min(float(np.floor(belief.mean_cup_c)), highest_cup_c)
    top_c = max(float(np.floor(min(ceiling_cup_c, highest_cup_c) + SAME_C)), first_c)
    floor_c = max(first_c, min(belief.interval_cup_c()[0], top_c) - 4 * steps.coarse_c)
    starts_c = np.append(np.arange(np.ceil(floor_c), top_c + 0.5), max(usual_c, first_c))
    starts = np.array([ladder.place(one) for one in starts_c])
    found = expected_costs(belief, ladder, steps, starts, pace=pace, weights=weights)
    best, usual = int(np.argmin(found.cost_min[:-1])), -1
    start_c = float(found.start_cup_c[best])
    why = [
        (
            f"From {start_c:g} °C the search takes {found.specimens[best]:.1f} specimens "
            f"and {found.minutes[best]:.0f} minutes on average, with {found.overshoots[best]:.2f} "
            f"specimens more than {weights.overshoot_c:g} °C above the flash point."
        ),
        (
            f"From {usual_c:g} °C, the mean, it would take {found.specimens[usual]:.1f}, "
            f"{found.minutes[usual]:.0f} and {found.overshoots[usual]:.2f}."
        ),
    ]
    if start_c > top_c - 0.5 and top_c < usual_c:
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
        why=tuple(why),
    )
