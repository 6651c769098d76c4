"""Tests requested on a sample: agree, plan, review, begin a series."""

from starlette.responses import Response

from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.desk import samples as desk
from closedcup.app.usecases.planning import planning
from closedcup.app.web.rendering import Visit, see
from closedcup.app.web.samples import refused, sample_of, sample_page
from closedcup.app.web.transcribing import moment_observed
from closedcup.conformity import parse_specification
from closedcup.errors import ClosedcupError
from closedcup.laboratory import RequestedTest
from closedcup.methods import method
from closedcup.quantities import parse_difference, parse_pressure


def request(visit: Visit) -> Response:
    """Agree a test on a sample."""
    form, opened, sample_id = visit.form, visit.opened, visit.path("sample")
    if opened.store.settle(form.key) is not None:
        return see(f"/samples/{sample_id}")
    try:
        chosen = method(form.text("method"))
        limits = form.parsed("limit", parse_specification)
        step = form.parsed("step", parse_difference)
        if form.is_faulty:
            return sample_page(visit, sample_id, faulty="request", status=400)
        desk.request_test(
            opened,
            RequestedTest(
                id=desk.next_test_id(opened, sample_id),
                sample=sample_id,
                method=chosen.id,
                kind="limit" if chosen.test == "flash/no-flash" else "finite",
                step_c=1.0 if step is None else step.c,
                limit=None if limits is None else limits.limits[0],
                second_limit=limits.limits[1]
                if limits is not None and limits.is_two_sided
                else None,
                safety_limit=limits is not None and form.text("safety_limit") == "yes",
                decision_rule=form.text("decision_rule") if limits is not None else "",
            ),
            key=form.key,
        )
    except ClosedcupError as error:
        return refused(visit, sample_id, "request", error)
    return see(f"/samples/{sample_id}")


def make_plan(visit: Visit) -> Response:
    """Read the stop list, estimate, and give the starting temperature."""
    form, test_id, sample_id = visit.form, visit.path("test"), sample_of(visit)
    name = f"plan-{test_id}"
    pressure = form.parsed(
        "pressure", parse_pressure, required="Read the barometer in the laboratory: “84.6 kPa”."
    )
    if pressure is None:
        return sample_page(visit, sample_id, faulty=name, status=400)
    try:
        planning.make_plan(
            visit.opened,
            test_id,
            form.text("apparatus"),
            pressure,
            activity=form.text("activity") or "default",
            key=form.key,
        )
    except ClosedcupError as error:
        return refused(visit, sample_id, name, error)
    return see(f"/samples/{sample_id}#test-{test_id}")


def review(visit: Visit) -> Response:
    """Record a named reviewer's decision."""
    form, test_id, sample_id = visit.form, visit.path("test"), sample_of(visit)
    decision = form.text("decision", required="Proceed, or refuse?")
    conditions = form.text("conditions", required="Say under which conditions, and why.")
    reviewer = form.text("reviewer", required="Say who decided.")
    if form.is_faulty:
        return sample_page(visit, sample_id, faulty=f"review-{test_id}", status=400)
    try:
        planning.review_hazards(
            visit.opened,
            test_id,
            reviewer,
            proceed=decision == "proceed",
            conditions=conditions,
            key=form.key,
        )
    except ClosedcupError as error:
        return refused(visit, sample_id, f"review-{test_id}", error)
    return see(f"/samples/{sample_id}#test-{test_id}")


def begin(visit: Visit) -> Response:
    """Begin a series and show the bench."""
    form, test_id, sample_id = visit.form, visit.path("test"), sample_of(visit)
    name = f"begin-{test_id}"
    pressure = form.parsed(
        "pressure", parse_pressure, required="Read the barometer in the laboratory: “84.6 kPa”."
    )
    kind = form.text("pressure_kind", required="Station or sea level: the two differ.")
    begun_at = moment_observed(visit)
    if form.is_faulty or pressure is None:
        return sample_page(visit, sample_id, faulty=name, status=400)
    try:
        series = beginning.begin_series(
            visit.opened,
            test_id,
            form.text("apparatus"),
            pressure,
            pressure_kind=kind,
            key=form.key,
            observed_at=begun_at,
        )
    except ClosedcupError as error:
        return refused(visit, sample_id, name, error)
    return see(f"/bench/{series.id}")
