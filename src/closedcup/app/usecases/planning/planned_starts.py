"""Where a test starts on one apparatus: the method's rule, then what the method leaves free."""

from dataclasses import dataclass
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.cup_rates import cup_now, pace_of, rates_of
from closedcup.app.usecases.bench.benching import aim_for
from closedcup.app.usecases.desk.volumes import volume_left_ml
from closedcup.app.usecases.liquids.estimating import expected_from
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.usecases.planning.believing import (
    belief_as_json,
    believed,
    earlier_results,
    history_speaks,
    scatter_of,
)
from closedcup.laboratory import Apparatus, RequestedTest, Sample
from closedcup.methods import FiniteAim, Method
from closedcup.mixtures import Estimate
from closedcup.planning import (
    Bench,
    Contaminant,
    Knowledge,
    PlannedStart,
    Start,
    moved_start,
    plan_start,
    starting_temperature,
    steps_of_method,
    usual_weights,
)
from closedcup.quantities import Pressure, Temperature

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a test before an apparatus is chosen; flash points are corrected."""

    test: RequestedTest
    sample: Sample
    estimate: Estimate | None
    contaminants: tuple[Contaminant, ...]
    earlier: tuple[Answer, ...]
    expected: Temperature | None

    @property
    def knowledge(self) -> Knowledge:
        """The same, as the rules for a start take it."""
        return Knowledge(
            composition=self.sample.composition.trust,
            estimate=None if self.estimate is None else expected_from(self.estimate),
            typed_expected_corrected_c=None if self.expected is None else self.expected.c,
            previous_corrected_c=[each["corrected_c"] for each in self.earlier],
            contaminants=self.contaminants,
            is_waste=self.sample.is_waste,
        )


def known_of(
    opened: OpenLaboratory,
    test: RequestedTest,
    sample: Sample,
    estimate: Estimate | None,
    contaminants: tuple[Contaminant, ...],
    expected: Temperature | None,
) -> Known:
    """Return what is known of a test; earlier results of its source are looked up once."""
    earlier = tuple(earlier_results(opened, sample))
    return Known(test, sample, estimate, contaminants, earlier, expected)


def start_on(
    opened: OpenLaboratory, known: Known, apparatus: Apparatus, pressure: Pressure
) -> tuple[Start, Answer]:
    """Return where a test starts on an apparatus, and what the plan says beside it.

    The start is the one by the method's rule; where the method leaves it free (a finite search
    with fresh specimens) it is the one that costs least, never a higher one.
    """
    ledger = opened.state
    test, sample = known.test, known.sample
    method = method_of(ledger, test.method)
    probe = ledger.probes.get(apparatus.id)
    correction = None if probe is None else probe.correction_c
    bench = Bench(
        pressure_kpa=pressure.kpa,
        probe_correction_c=None if correction is None else float(correction),
        apparatus_low_cup_c=float(apparatus.lowest_cup_c),
        apparatus_high_cup_c=float(apparatus.highest_cup_c),
        available_ml=volume_left_ml(ledger, sample),
    )
    aim = aim_for(test, None if known.estimate is None else known.estimate.flash_c)
    kind = sample.kind or None
    start = starting_temperature(method, aim, known.knowledge, bench, kind)
    at_cup_c, cup_words = cup_now(opened, apparatus.id)
    facts: Answer = {
        "planned": None,
        "belief": None,
        "cup_now_c": at_cup_c,
        "cup_now_known": cup_words,
        **rates_of(ledger, apparatus.id),
    }
    if not _is_free(method, aim, known):
        return start, facts
    planned, belief = _planned(opened, known, apparatus, method, bench, start, at_cup_c)
    facts |= {"planned": _planned_as_json(planned), "belief": belief}
    if planned.start_cup_c > start.start_cup_c:  # nothing lower is within reach
        return start, facts
    assert isinstance(aim, FiniteAim)  # noqa: S101 - a start is free in a finite search only
    moved = moved_start(
        start,
        planned.start_cup_c,
        method,
        aim,
        known.knowledge,
        bench,
        product=kind,
        why=planned.why,
    )
    return moved, facts


def _is_free(method: Method, aim: object, known: Known) -> bool:
    """Say whether a start is left free: a finite search with fresh specimens, not started cold."""
    return (
        method.procedure == "equilibrium"
        and isinstance(aim, FiniteAim)
        and not known.knowledge.is_cold
    )


def _planned(
    opened: OpenLaboratory,
    known: Known,
    apparatus: Apparatus,
    method: Method,
    bench: Bench,
    start: Start,
    at_cup_c: float,
) -> tuple[PlannedStart, Answer]:
    reach, shift_c = bench.reach(method), bench.cup(0.0)

    def corrected(cup_c: float) -> float:
        return cup_c - shift_c

    speaks = history_speaks(known.sample)
    belief, basis = believed(
        None if known.estimate is None else known.estimate.as_json(),
        [each["corrected_c"] for each in known.earlier] if speaks else [],
        bench.cup,
        reach,
    )
    kind, step_c = known.sample.kind or None, known.test.step_c
    rule = method.specimen_rule(kind or method.default_product, start.start_cup_c)
    ceiling_c = min(one for one, _ in known.knowledge.ceilings())
    planned = plan_start(
        belief,
        steps_of_method(method, step_c),
        lowest_cup_c=reach.lowest_start_cup_c,
        highest_cup_c=reach.highest_cup_c,
        ceiling_cup_c=bench.cup(ceiling_c),
        usual_cup_c=start.start_cup_c,
        scatter_c=scatter_of(method, corrected(belief.mean_cup_c), kind, step_c),
        pace=pace_of(
            opened.state,
            apparatus.id,
            dwell_s=60.0 if rule.dwell is None else rule.dwell.value,
            at_cup_c=at_cup_c,
        ),
        weights=usual_weights(),
    )
    return planned, belief_as_json(belief, corrected, basis)


def _planned_as_json(planned: PlannedStart) -> Answer:
    return {
        "start_cup_c": planned.start_cup_c,
        "specimens": planned.specimens,
        "minutes": planned.minutes,
        "overshoots": planned.overshoots,
        "usual_start_cup_c": planned.usual_start_cup_c,
        "usual_specimens": planned.usual_specimens,
        "usual_minutes": planned.usual_minutes,
        "usual_overshoots": planned.usual_overshoots,
        "keeps_value": planned.keeps_value,
    }
