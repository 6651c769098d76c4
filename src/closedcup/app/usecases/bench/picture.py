"""Draw a series as it stands: its determinations, what is to be set next, its limit."""

import json
from functools import lru_cache

from closedcup.app.usecases.bench.benching import BenchView
from closedcup.methods import determinations
from closedcup.reports import Point, determinations_chart, svg


def series_picture(view: BenchView) -> str:
    """Return the SVG of a series in the light colours; empty while there is nothing to draw."""
    made = [one for one in determinations(view.state) if one.status != "withdrawn"]
    next_cup_c = None if view.outcome is not None else view.instruction.cup_c
    if not made and next_cup_c is None:
        return ""
    bracket = None
    if view.outcome is not None:
        ends = (view.outcome.highest_no_flash_cup_c, view.outcome.lowest_flash_cup_c)
        if ends[0] is not None and ends[1] is not None and ends[0] < ends[1]:
            bracket = (ends[0], ends[1])
    limit = view.test.limit
    spec = determinations_chart(
        [Point(one.number, one.cup_c, one.counts_as, one.status == "valid") for one in made],
        correction_c=round(float(view.state.corrected(0.0)), 6),
        bracket_cup_c=bracket,
        limit_c=None if limit is None else limit.corrected_c,
        limit_text="" if limit is None else str(limit),
        next_cup_c=next_cup_c,
    )
    return _drawn(json.dumps(spec, sort_keys=True))


@lru_cache(maxsize=64)
def _drawn(spec: str) -> str:
    """Draw a spec; a page that is looked at again costs nothing."""
    return svg(json.loads(spec))
