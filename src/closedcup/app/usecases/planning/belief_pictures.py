"""Draw what is believed of a flash point: of a plan, and of a series as it is searched."""

import json
from functools import lru_cache
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.usecases.planning.advising import advice_as_json, advise, seen
from closedcup.app.usecases.planning.believing import believed, history_speaks
from closedcup.errors import Refused
from closedcup.methods import Reach, cup_reading_c
from closedcup.planning import Advice, Belief, Observed
from closedcup.reports import svg
from closedcup.reports.belief_chart import Specimen, belief_chart

Answer = dict[str, Any]


def belief_panel(
    opened: OpenLaboratory, view: BenchView, *, screening: bool = False
) -> Answer | None:
    """Return an advice with its picture; None where no search is made step by step."""
    try:
        advice = advise(opened, view, screening=screening)
    except Refused:
        return None
    answer = advice_as_json(opened, view, advice)
    return answer | {"picture": _advice_picture(advice, seen(view))}


def _advice_picture(advice: Advice, observed: list[Observed]) -> str:
    return belief_picture(advice.belief, observed, advice.cup_c)


def belief_picture(
    belief: Belief, observed: list[Observed], next_cup_c: float | None, next_words: str = "next"
) -> str:
    """Return the SVG of a belief on the cup's scale."""
    spec = belief_chart(
        [round(float(at), 3) for at in belief.flash_cup_c],
        [float(each) for each in belief.chance],
        specimens=[Specimen(one.cup_c, one.flashed) for one in observed],
        next_cup_c=next_cup_c,
        next_words=next_words,
    )
    return _drawn(json.dumps(spec, sort_keys=True))


def plan_picture(opened: OpenLaboratory, test_id: str) -> str:
    """Return the SVG of what a plan believes, with its start; empty where it believes nothing."""
    ledger = opened.state
    test = find(ledger.tests, test_id, "test")
    plan = ledger.plans.get(test_id)
    if plan is None or plan.start.get("belief") is None:
        return ""
    sample = ledger.samples[test.sample]
    apparatus = ledger.apparatus[str(plan.start["apparatus"])]
    probe = ledger.probes.get(apparatus.id)
    correction = None if probe is None or probe.correction_c is None else float(probe.correction_c)
    pressure_kpa = float(plan.start["pressure_kpa"])
    reach = Reach(
        method=method_of(ledger, test.method),
        pressure_kpa=pressure_kpa,
        probe_correction_c=correction,
        apparatus_low_cup_c=float(apparatus.lowest_cup_c),
        apparatus_high_cup_c=float(apparatus.highest_cup_c),
    )
    speaks = history_speaks(sample)
    earlier = [float(each["corrected_c"]) for each in plan.start["earlier_results"]]
    belief, _ = believed(
        plan.estimate,
        earlier if speaks else [],
        lambda corrected_c: cup_reading_c(
            corrected_c, pressure_kpa=pressure_kpa, probe_correction_c=correction
        ),
        reach,
    )
    return belief_picture(belief, [], plan.start_cup_c, "start")


@lru_cache(maxsize=64)
def _drawn(spec: str) -> str:
    """Draw a spec; a page that is looked at again costs nothing."""
    return svg(json.loads(spec))
