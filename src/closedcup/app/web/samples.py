"""Samples: the list with what wants doing first, taking one in, and everything about one."""

from decimal import Decimal
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases import beginning, benching, overview, planning
from closedcup.app.usecases import samples as desk
from closedcup.app.usecases.evidence import RECORDABLE
from closedcup.app.usecases.report_record import conformity_of
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, property_words, see, status_of
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory import Component, Evidence, PastResult, RequestedTest, Sample
from closedcup.methods import PRODUCTS, method, methods
from closedcup.quantities import (
    parse_amount,
    parse_difference,
    parse_limit,
    parse_pressure,
    parse_temperature,
    standard_pressure_kpa,
)

# State → (how soon it wants somebody, its symbol). What is at the bench is getting warm or cold.
_STATES: Final[dict[str, tuple[int, str]]] = {
    "being tested": (0, "bench"),
    "held": (1, "held"),
    "released": (2, "good"),
    "planned": (3, "next"),
    "test requested": (4, "next"),
    "received": (5, "next"),
    "waits for a reviewer": (6, "held"),
    "refused by the reviewer": (7, "stop"),
    "refused by the stop list": (7, "stop"),
    "reported": (8, "good"),
}
_NEXT_WORDS: Final = {
    "request": "Request a test",
    "plan": "Make the plan",
    "review": "Record the reviewer's decision",
    "begin": "Begin a series",
    "bench": "Continue at the bench",
    "release": "Release the result",
    "report": "Issue the report",
}


def show_all(visit: Visit) -> Response:
    """List the samples, what wants doing first on top; every searched word must occur."""
    words = visit.query("q").casefold().split()
    rows = [
        _row(line)
        for line in reversed(overview.sample_list(visit.opened))
        if all(
            word
            in f"{line['id']} {line['description']} {line['customer']} {line['state']}".casefold()
            for word in words
        )
    ]
    rows.sort(key=lambda row: int(row["urgency"]))
    return page(visit, "samples.html", rows=rows, search=visit.query("q"))


def _row(line: dict[str, Any]) -> dict[str, Any]:
    urgency, symbol = _STATES[line["state"]]
    verb, _, what = line["next"].partition(" ")
    return line | {
        "urgency": urgency,
        "symbol": symbol,
        "next_words": _NEXT_WORDS.get(verb, ""),
        "address": f"/bench/{what}" if verb == "bench" else f"/samples/{line['id']}",
    }


def show_receiving(visit: Visit) -> Response:
    """Show the form that takes a sample in."""
    return _receiving(visit, visit.form)


def _receiving(visit: Visit, form: Form, status: int = 200) -> Response:
    return page(visit, "receive.html", status=status, form=form, kinds=_kinds())


def _kinds() -> list[tuple[str, str]]:
    return [("", "not stated"), *((name, f"{name}: {words}") for name, words in PRODUCTS.items())]


def receive(visit: Visit) -> Response:
    """Take a sample in; the form keeps everything until it is recorded."""
    form, opened = visit.form, visit.opened
    earlier = opened.store.settle(form.key)
    if earlier is not None:
        return see(f"/samples/{earlier.subject}")
    try:
        sample = _typed_sample(visit)
        if sample is None:
            return _receiving(visit, form, 400)
        desk.receive_sample(opened, sample, key=form.key)
    except ClosedcupError as error:
        _place(form, error, {"composition": "composition", "component": "composition"})
        return _receiving(visit, form, status_of(error))
    return see(f"/samples/{sample.id}")


def _typed_sample(visit: Visit) -> Sample | None:
    """Read the form; None when a field must be mended."""
    form, opened = visit.form, visit.opened
    description = form.text("description", required="Say what the sample is said to be.")
    customer = form.text("customer", required="Say for whom the work is done.")
    contact = form.text(
        "customer_contact", required="The report must name how to reach the customer."
    )
    volume_ml = form.number("volume_ml", required="Enter how much there is, in mL.")
    components = form.parsed("composition", _components) or ()
    trust = form.text("trust") or "unknown"
    if components and trust == "unknown":
        form.errors["trust"] = InputError(
            "trust-missing",
            "A composition was entered, but not where it comes from.",
            fix="Say whether it was declared or measured.",
        )
    history = form.parsed("history", _past_results) or ()
    fill_percent, arrived_c = form.number("fill_percent"), form.number("arrived_c")
    if form.is_faulty or volume_ml is None:
        return None
    return Sample(
        id=desk.next_sample_id(opened),
        description=description,
        customer=customer,
        customer_contact=contact,
        received_at=opened.clock().isoformat(),
        condition=form.text("condition"),
        container=form.text("container"),
        volume_ml=volume_ml,
        composition=desk.composition(trust, form.text("basis") or "mass", components),
        kind=form.text("kind"),
        product=form.text("product"),
        fill_percent=fill_percent,
        arrived_c=arrived_c,
        sampled_at=form.text("sampled_at"),
        sampling=form.text("sampling"),
        is_waste=form.checked("is_waste"),
        suspected=_lines(form.text("suspected")),
        hazards=_lines(form.text("hazards")),
        history=history,
    )


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _components(text: str) -> tuple[Component, ...]:
    amounts = [parse_amount(line) for line in _lines(text)]
    return tuple(Component(amount.name, amount.fraction) for amount in amounts)


def _past_results(text: str) -> tuple[PastResult, ...]:
    """Read “61 degC = last delivery” lines."""
    split = [line.partition("=") for line in _lines(text)]
    return tuple(
        PastResult(Decimal(repr(parse_temperature(degrees, where="history").c)), what.strip())
        for degrees, _, what in split
    )


def _place(form: Form, error: ClosedcupError, fields: dict[str, str]) -> None:
    """Put an error beside its field when it names one, else on top of the form."""
    field = next((name for word, name in fields.items() if error.where.startswith(word)), None)
    if field is None:
        form.refused = error
    else:
        form.errors[field] = error


def show(visit: Visit) -> Response:
    """Show everything about a sample."""
    return sample_page(visit, visit.path("sample"))


def sample_page(visit: Visit, sample_id: str, *, faulty: str = "", status: int = 200) -> Response:
    """Show a sample; `faulty` names the form on it that was refused and keeps its fields."""
    opened = visit.opened
    ledger = opened.state
    sample = overview.sample_overview(opened, sample_id)

    def form_named(name: str) -> Form:
        return visit.form if name == faulty else Form()

    return page(
        visit,
        "sample.html",
        status=status,
        sample=sample,
        state_symbols={state: symbol for state, (_, symbol) in _STATES.items()},
        form_named=form_named,
        faulty=faulty,
        methods_offered=[
            (each.id, f"{each.name} ({each.id}): {each.test}") for each in methods() if each.guided
        ],
        properties_offered=[(name, property_words(name)) for name in sorted(RECORDABLE)],
        apparatus_for=lambda test: [
            (each.id, f"{each.id}, {each.description}")
            for each in ledger.apparatus.values()
            if test["method"] in each.methods
        ],
        method_of={test["id"]: method(test["method"]) for test in sample["tests"]},
        pressure_hint=_pressure_hint(visit),
        pressure_before=_last_pressure(visit),
        reviewers=[
            (person.id, opened.name_of(person.id))
            for person in ledger.people.values()
            if person.role in {"reviewer", "quality lead", "specialist"}
        ],
        conformity={
            test["id"]: conformity_of(
                ledger.results[test["result"]["id"]],
                benching.bench(opened, test["result"]["series"]),
            )
            for test in sample["tests"]
            if test["result"]
        },
        name_of=opened.name_of,
        coverage_words=_coverage_words,
    )


def _coverage_words(coverage: object) -> str:
    """Say what an interval covers, whether it is given as a share or in words."""
    if isinstance(coverage, int | float):
        return f"The interval covers {coverage:.0%}."
    return f"The interval covers {coverage}."


def _pressure_hint(visit: Visit) -> str:
    site = visit.opened.state.site
    if site is None:
        return ""
    usual_kpa = standard_pressure_kpa(site.altitude_m)
    return f"At {site.altitude_m:g} m about {usual_kpa:.1f} kPa is usual in the laboratory."


def _last_pressure(visit: Visit) -> str:
    """Return the pressure of the last series begun today, to be looked at again, not retyped."""
    today = visit.opened.clock().date().isoformat()
    begun = [each for each in visit.opened.state.series.values() if each.begun_at[:10] == today]
    return str(begun[-1].pressure) if begun else ""


def request(visit: Visit) -> Response:
    """Agree a test on a sample."""
    form, opened, sample_id = visit.form, visit.opened, visit.path("sample")
    if opened.store.settle(form.key) is not None:
        return see(f"/samples/{sample_id}")
    try:
        chosen = method(form.text("method"))
        limit = form.parsed("limit", parse_limit)
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
                limit=limit,
                decision_rule=form.text("decision_rule") if limit is not None else "",
            ),
            key=form.key,
        )
    except ClosedcupError as error:
        return refused(visit, sample_id, "request", error)
    return see(f"/samples/{sample_id}")


def record_property(visit: Visit) -> Response:
    """Record a property that a classification needs."""
    form, sample_id = visit.form, visit.path("sample")
    found = Evidence(
        name=form.text("name"),
        value=form.text("value", required="Enter the value, in the unit that the name ends in."),
        method=form.text("method", required="Say how it was determined."),
        determined_on=form.text("determined_on", required="Enter the date: 2026-03-02."),
    )
    if form.is_faulty:
        return sample_page(visit, sample_id, faulty="property", status=400)
    try:
        desk.record_evidence(visit.opened, sample_id, found, key=form.key)
    except ClosedcupError as error:
        return refused(visit, sample_id, "property", error)
    return see(f"/samples/{sample_id}")


def refused(visit: Visit, sample_id: str, name: str, error: ClosedcupError) -> Response:
    """Show the sample again with a form that was refused, and why, above it."""
    visit.form.refused = error
    return sample_page(visit, sample_id, faulty=name, status=status_of(error))


def sample_of(visit: Visit) -> str:
    """Return the sample of the test in the address; InputError when there is none."""
    return str(overview.test_overview(visit.opened, visit.path("test"))["sample"])


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
            activity=form.text("activity") or "unifac",
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
        )
    except ClosedcupError as error:
        return refused(visit, sample_id, name, error)
    return see(f"/bench/{series.id}")
