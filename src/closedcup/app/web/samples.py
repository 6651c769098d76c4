"""Everything about a sample: its tests, what it is, and how it is kept."""

from typing import Any

from starlette.responses import Response

from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.desk import samples as desk
from closedcup.app.usecases.desk.evidence import properties_in_words
from closedcup.app.usecases.desk.retention import disposal_facts
from closedcup.app.usecases.desk.view import keeping_of
from closedcup.app.usecases.methods.methods_on_record import method_of_test
from closedcup.app.usecases.planning.belief_pictures import plan_picture
from closedcup.app.usecases.results import keeping_files
from closedcup.app.usecases.results.agreed_rule import conformity_of, process_on_record
from closedcup.app.usecases.results.classifying import regimes_picture
from closedcup.app.usecases.results.results import evidence_of
from closedcup.app.web.forms import Form
from closedcup.app.web.person import people
from closedcup.app.web.rendering import Visit, page, see, status_of
from closedcup.app.web.sample_list import STATES
from closedcup.errors import ClosedcupError
from closedcup.laboratory import Evidence
from closedcup.laboratory.rights import permitted
from closedcup.methods import methods
from closedcup.quantities import standard_pressure_kpa


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
        state_symbols={state: symbol for state, (_, symbol) in STATES.items()},
        form_named=form_named,
        faulty=faulty,
        methods_offered=[
            (each.id, f"{each.name} ({each.id}): {each.test}") for each in methods() if each.guided
        ],
        properties_offered=properties_in_words(),
        apparatus_for=lambda test: [
            (each.id, f"{each.id}, {each.description}")
            for each in ledger.apparatus.values()
            if test["method"] in each.methods
        ],
        method_of={test["id"]: method_of_test(ledger, test["id"]) for test in sample["tests"]},
        plan_picture=lambda test: plan_picture(opened, test),
        pressure_hint=_pressure_hint(visit),
        pressure_before=_last_pressure(visit),
        pressure_for=lambda test: _pressure_for(visit, test),
        kept=lambda result: keeping_files.kept_files(opened, result),
        reviewers=[
            (person.id, opened.name_of(person.id))
            for person in ledger.people.values()
            if permitted(ledger.roles[person.id], "hazards-reviewed")
        ],
        conformity={
            test["id"]: _conformity(visit, test["result"])
            for test in sample["tests"]
            if test["result"]
        },
        regimes_of=lambda result: _regimes_of(visit, result),
        name_of=opened.name_of,
        coverage_words=_coverage_words,
        keeping=keeping_of(opened, sample_id),
        disposal=disposal_facts(opened, sample_id),
        raw=ledger.samples[sample_id],
        people=people(opened),
    )


def _conformity(visit: Visit, result: dict[str, Any]) -> dict[str, Any] | None:
    """Return what is stated of a limit; where nothing honest can be stated, why."""
    ledger = visit.opened.state
    view = benching.bench(visit.opened, result["series"])
    try:
        found = ledger.results[result["id"]]
        return conformity_of(found, view, process_on_record(visit.opened, found))
    except ClosedcupError as error:
        return {"limit": view.test.limits_text, "refused": error.as_json()["error"]}


def _regimes_of(visit: Visit, result: dict[str, Any]) -> str:
    """Return the picture of the regimes beside a result; empty where there is no class to show."""
    if not result["classifications"]:
        return ""
    opened = visit.opened
    view = benching.bench(opened, result["series"])
    try:
        return regimes_picture(
            evidence_of(opened, opened.state.results[result["id"]], view),
            lookup=lambda _: view.method,
        )
    except ClosedcupError:  # the table below says what is refused
        return ""


def _coverage_words(coverage: object) -> str:
    """Say what an interval covers, whether it is given as a share or in words."""
    if isinstance(coverage, int | float):
        return f"The interval covers {100 * coverage:.0f} %."
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
    last = visit.opened.state.last_series()
    return str(last.pressure) if last is not None and last.begun_at[:10] == today else ""


def _pressure_for(visit: Visit, test: dict[str, Any]) -> tuple[str, str]:
    """Return pressure and kind of today's card of the planned apparatus, else the last read."""
    plan = test["plan"]
    if plan is not None:
        day = visit.opened.clock().date().isoformat()
        card = visit.opened.state.day_cards.get((plan["apparatus"], day))
        if card is not None:
            return str(card.pressure), card.pressure_kind
    return _last_pressure(visit), ""


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
