"""Make the plan of a test: the stop list first, then the estimate, then where to start and why."""

from collections.abc import Mapping
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.chilling import last_temperature_c
from closedcup.app.usecases.desk.volumes import volume_left_ml
from closedcup.app.usecases.liquids.estimating import blend_of, own_on_record
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.app.usecases.planning.apparatus_choice import choose_apparatus
from closedcup.app.usecases.planning.planned_starts import known_of, start_on
from closedcup.errors import InputError, Refused
from closedcup.laboratory import RequestedTest, Sample
from closedcup.laboratory.rights import permitted
from closedcup.methods import Method, check_station_pressure, handling_warnings
from closedcup.mixtures import Estimate, Liquid, estimate, hazards_in_words
from closedcup.mixtures import find as find_liquid
from closedcup.planning import (
    Contaminant,
    Start,
    StopDecision,
    stop_list,
    volume_conflict,
)
from closedcup.planning.contaminants import contaminant, contaminant_names
from closedcup.quantities import Pressure, Temperature
from closedcup.records.facts import HazardReview, Plan
from closedcup.records.ledger import Ledger


def make_plan(
    opened: OpenLaboratory,
    test_id: str,
    apparatus_id: str,
    pressure: Pressure,
    *,
    activity: str = "default",
    expected: Temperature | None = None,
    key: str | None = None,
) -> dict[str, Any]:
    """Make and record the plan of a test.

    A composition that is not trusted gives no estimate; an estimate that cannot be made says why,
    and the test starts cold. `expected` is what the analyst expects, corrected to 101.3 kPa: it
    can lower the start, never raise it. An empty `apparatus_id` lets the plan choose among those
    that can run the test. Refused where the stop list allows the smallest volume only and the
    method takes more, and where no specimen is left.
    """
    ledger = opened.state
    test = find(ledger.tests, test_id, "test")
    named = find(ledger.apparatus, apparatus_id, "apparatus") if apparatus_id else None
    if ledger.series_of(test_id):
        raise Refused(
            "series-begun",
            f"A series was begun for test {test_id}; its plan stands as it was made.",
            where=f"test {test_id}",
            fix="Request a new test on the sample for another plan.",
        )
    sample = ledger.samples[test.sample]
    said = check_station_pressure(pressure.kpa, opened.site().altitude_m)
    stopped = stops_of(sample)
    chosen = method_of(ledger, test.method)
    _refuse_large_specimen(stopped, chosen, test, sample)
    _refuse_used_up(ledger, chosen, sample)
    found, refused = _estimate(sample, activity, own_on_record(ledger))
    known = known_of(opened, test, sample, found, tuple(_contaminants(sample)), expected)
    if named is not None:
        apparatus = named.id
        why_apparatus: tuple[str, ...] = (f"{named.id} was named.",)
        start, facts = start_on(opened, known, named, pressure)
    else:
        first, why_apparatus = choose_apparatus(opened, known, pressure)
        apparatus, start, facts = first.apparatus.id, first.start, first.facts
    plan = Plan(
        test=test_id,
        estimate=None if found is None else found.as_json(),
        estimate_refused=refused,
        start={
            "starting_cup_c": start.start_cup_c,
            "expected_corrected_c": start.expected_corrected_c,
            "rule": start.rule,
            "clause": start.clause,
            "trusts": start.trusts,
            "why": list(start.why),
            "warnings": [*said, *start.warnings, *_handling(ledger, chosen, sample, start)],
            "specimens_expected": start.specimens_expected,
            "specimens_at_most": start.specimens_at_most,
            "sample_needed_ml": start.sample_needed_ml,
            "pressure_kpa": pressure.kpa,
            "apparatus": apparatus,
            "apparatus_why": list(why_apparatus),
            "earlier_results": list(known.earlier),
            **facts,
        },
        start_cup_c=start.start_cup_c,
        hazards=tuple(_item(stopped)),
        decision=stopped.consequence,
    )
    opened.record("plan-made", test_id, plan, key=key)
    return {
        "test": test_id,
        **plan.start,
        "estimate": plan.estimate,
        "estimate_refused": refused,
        "hazards": list(plan.hazards),
        "decision": plan.decision,
    }


def _refuse_used_up(ledger: Ledger, chosen: Method, sample: Sample) -> None:
    """Refuse a plan for a sample of which not one specimen is left."""
    least_ml = min(rule.volume.value for rule in chosen.specimens)
    left_ml = volume_left_ml(ledger, sample)
    if left_ml < least_ml:
        raise Refused(
            "no-specimen-left",
            f"{max(left_ml, 0):g} mL of {sample.id} is left; a specimen takes {least_ml:g} mL.",
            where=f"sample {sample.id}",
            fix="Ask for more of it and receive that as a sample of its own, or request a method "
            "with a smaller specimen. What was found so far stays on record.",
        )


def _handling(ledger: Ledger, chosen: Method, sample: Sample, start: Start) -> tuple[str, ...]:
    return handling_warnings(
        chosen,
        expected_corrected_c=start.expected_corrected_c,
        last_c=last_temperature_c(ledger, sample),
        fill_percent=None if sample.fill_percent is None else float(sample.fill_percent),
        container=sample.container,
    )


def _refuse_large_specimen(
    stopped: StopDecision, chosen: Method, test: RequestedTest, sample: Sample
) -> None:
    conflict = volume_conflict(stopped, chosen, sample.kind or None)
    if conflict:
        raise Refused(
            "specimen-too-large",
            conflict,
            where=f"test {test.id}",
            fix="Request a small-scale method for this sample (2 mL specimens).",
        )


def _item(stopped: StopDecision) -> list[dict[str, Any]]:
    return [
        {
            "hazard": item.hazard,
            "because": list(item.because),
            "consequence": item.consequence,
            "smallest_volume": item.smallest_volume,
            "confirm": item.confirm,
            "caution": item.caution,
            "why": f"{item.hazard} ({', '.join(item.because)})",
            "known": item.known,
        }
        for item in stopped.items
    ]


def stops_of(sample: Sample) -> StopDecision:
    """Read the stop list for a sample: its components, its description, and what was typed."""
    named = {
        part.name: [hazard.hazard for hazard in find_liquid(part.name).hazards]
        for part in sample.composition.components
        if part.fraction > 0
    }
    told = [hazard.hazard for hazard in hazards_in_words(sample.description)]
    if sample.composition.trust == "unknown":
        # Nothing on the list can be ruled out for a liquid that nobody answers for.
        told.append("unknown-waste" if sample.is_waste else "unknown-composition")
    return stop_list(named, (*sample.hazards, *told))


def _estimate(
    sample: Sample, activity: str, own: Mapping[str, Liquid]
) -> tuple[Estimate | None, str]:
    composition = sample.composition
    if composition.trust == "unknown":
        return None, "The composition is unknown."
    if not composition.components:
        return None, "No components are declared."
    try:
        return estimate(blend_of(composition, own=own), activity=activity), ""
    except Refused as refused:
        return None, str(refused)


def _contaminants(sample: Sample) -> list[Contaminant]:
    found = []
    for name in sample.suspected:
        known = contaminant(name)
        if known is None:
            known = _liquid_contaminant(name)
        found.append(known)
    return found


def _liquid_contaminant(name: str) -> Contaminant:
    try:
        liquid = find_liquid(name)
    except InputError as unknown:
        raise InputError(
            "contaminant-unknown",
            f"What flash point “{name}” can bring is not known.",
            where="suspected contaminant",
            fix=f"Use a liquid's name, or one of: {', '.join(contaminant_names())}. {unknown.fix}",
        ) from None
    value = liquid.flash_point()
    if value is None:
        raise Refused(
            "contaminant-without-flash-point",
            f"No flash point of {liquid.name} is on record.",
            where="suspected contaminant",
            fix="Name it more broadly (petrol, solvent), so that the test starts cold.",
        )
    return Contaminant(name, value.value_c - value.half_width_c)


def review_hazards(
    opened: OpenLaboratory,
    test_id: str,
    reviewer: str,
    *,
    proceed: bool,
    conditions: str,
    key: str | None = None,
) -> dict[str, Any]:
    """Record a named reviewer's decision; what the list refuses outright stays refused."""
    ledger = opened.state
    find(ledger.tests, test_id, "test")
    person = find(ledger.people, reviewer, "person")
    plan = ledger.plans.get(test_id)
    if plan is None:
        raise Refused(
            "plan-missing",
            f"Test {test_id} has no plan to review.",
            where=f"test {test_id}",
            fix=f"Make it with: closedcup plan {test_id}",
        )
    if opened.signed_in and reviewer != opened.by:
        raise Refused(
            "not-the-reviewer",
            f"You are signed in as {opened.name_of(opened.by)}: a review is one's own.",
            where="reviewer",
            fix=f"Let {opened.name_of(reviewer)} sign in and record it.",
        )
    if not permitted(ledger.roles[person.id], "hazards-reviewed"):
        raise InputError(
            "not-a-reviewer",
            f"{opened.name_of(reviewer)} is {' and '.join(sorted(ledger.roles[person.id]))}.",
            where="reviewer",
            fix="Name a reviewer, the quality lead or a specialist.",
        )
    if not conditions.strip():
        raise InputError(
            "conditions-missing",
            "A review says under which conditions, or why not.",
            where=f"test {test_id}",
            fix="Write them in a sentence.",
        )
    if proceed and plan.decision == "refuse":
        raise Refused(
            "stop-list-refuses",
            f"The stop list refuses test {test_id}; a reviewer cannot allow it.",
            where=f"test {test_id}",
        )
    review = HazardReview(test_id, reviewer, proceed, conditions.strip())
    opened.record("hazards-reviewed", test_id, review, key=key)
    return {
        "test": test_id,
        "reviewer": reviewer,
        "proceed": proceed,
        "conditions": review.conditions,
    }
