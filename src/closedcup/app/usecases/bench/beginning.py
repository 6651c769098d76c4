"""Begin a series of determinations, when everything that must come before has been done."""

from datetime import datetime
from decimal import Decimal
from typing import cast, get_args

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.custody import refuse_disposed
from closedcup.app.usecases.desk.customer import refuse_without_go_ahead
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming.doubts import refuse_held, refuse_out_of_control
from closedcup.app.usecases.people.qualifying import refuse_unauthorised
from closedcup.errors import InputError, Refused
from closedcup.laboratory import Apparatus, RequestedTest, Series
from closedcup.methods import check_station_pressure
from closedcup.methods.barometer import PressureKind
from closedcup.quantities import Pressure
from closedcup.records.ledger import Ledger


def begin_series(
    opened: OpenLaboratory,
    test_id: str,
    apparatus_id: str,
    pressure: Pressure,
    *,
    pressure_kind: str,
    key: str | None = None,
    observed_at: datetime | None = None,
) -> Series:
    """Begin a series for a planned test on an apparatus, at the station's pressure now.

    Refused before the plan is made, while the stop list waits for its reviewer, on an apparatus
    that was never put into service or is out of control, while the apparatus or the analyst is
    held, without the authorisation that the laboratory asks for, before the customer was heard on a
    poor condition, and for a test that has a result in force.
    """
    state = opened.state
    test = find(state.tests, test_id, "test")
    apparatus = find(state.apparatus, apparatus_id, "apparatus")
    series_id = f"{test_id}-{len(state.series_of(test_id)) + 1}"
    if (earlier := opened.recorded(key)) is not None:
        return state.series[earlier.subject]
    refuse_disposed(state, test.sample)
    _refuse_unready(state, test, apparatus)
    refuse_without_go_ahead(state, state.samples[test.sample])
    refuse_held(state, "apparatus", apparatus_id)
    refuse_held(state, "person", opened.by)
    day = (observed_at or opened.clock()).date().isoformat()
    refuse_unauthorised(state, opened.by, test.method, day)
    refuse_out_of_control(state, apparatus_id, test.method)
    check_station_pressure(pressure.kpa, opened.site().altitude_m, as_pressure_kind(pressure_kind))
    probe = state.probes.get(apparatus_id)
    series = Series(
        id=series_id,
        test=test_id,
        apparatus=apparatus_id,
        analyst=opened.by,
        begun_at=(observed_at or opened.clock()).isoformat(),
        pressure=pressure,
        pressure_kind=pressure_kind,
        start_cup_c=Decimal(repr(state.plans[test_id].start_cup_c)),
        probe_correction_c=None if probe is None else probe.correction_c,
    )
    opened.record("series-begun", series_id, series, key=key, observed_at=observed_at)
    return series


def as_pressure_kind(pressure_kind: str) -> PressureKind:
    """Read which pressure was given: the station's own, or one reduced to sea level."""
    for kind in get_args(PressureKind):
        if kind == pressure_kind:
            return cast("PressureKind", kind)
    raise InputError(
        "pressure-kind-unknown",
        f"“{pressure_kind}” does not say which pressure was read.",
        where="pressure",
        fix="Say “station” (an absolute barometer in the laboratory) or “sea level”.",
    )


def _refuse_unready(state: Ledger, test: RequestedTest, apparatus: Apparatus) -> None:
    result = state.result_of(test.id)
    if result is not None:
        raise Refused(
            "result-in-force",
            f"Test {test.id} has its result, {result.id}.",
            where=f"test {test.id}",
            fix=f"If it is wrong: closedcup supersede {result.id} --reason … --told …",
        )
    plan = state.plans.get(test.id)
    if plan is None:
        raise Refused(
            "plan-missing",
            f"Test {test.id} has no plan yet; no temperature is set before the stop list is read.",
            where=f"test {test.id}",
            fix=f"Make it with: closedcup plan {test.id}",
        )
    if plan.decision == "refuse":
        raise Refused(
            "stop-list-refuses",
            f"The stop list refuses test {test.id}: "
            + "; ".join(str(item["why"]) for item in plan.hazards),
            where=f"test {test.id}",
            fix="Do not load a specimen. Speak with the laboratory's safety reviewer.",
        )
    review = state.reviews.get(test.id)
    if plan.decision == "named reviewer" and (review is None or not review.proceed):
        raise Refused(
            "review-missing",
            f"The stop list asks for a named reviewer before test {test.id}: "
            + "; ".join(str(item["hazard"]) for item in plan.hazards),
            where=f"test {test.id}",
            fix=f"Record the decision with: closedcup review {test.id} --reviewer … --proceed",
        )
    if test.method not in apparatus.methods:
        raise InputError(
            "apparatus-not-for-method",
            f"Apparatus {apparatus.id} is not registered for {test.method}.",
            where=f"apparatus {apparatus.id}",
            fix=f"It runs: {', '.join(apparatus.methods)}.",
        )
    if apparatus.id not in state.service:
        raise Refused(
            "not-in-service",
            f"Apparatus {apparatus.id} has not been put into service.",
            where=f"apparatus {apparatus.id}",
            fix=f"Complete its checklist with: closedcup put-into-service {apparatus.id}",
        )
