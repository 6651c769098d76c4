"""The page of one apparatus: its states, checklists, probe, verifications and control chart."""

from typing import Any, Final

from starlette.responses import Response

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus.cup_rates import rates_on_record
from closedcup.app.usecases.apparatus.reference_materials import standing_of
from closedcup.app.usecases.apparatus.verification_due import due_lines
from closedcup.app.usecases.charts.chart_picture import chart_picture
from closedcup.app.usecases.charts.charting import Wishes, charted
from closedcup.app.usecases.charts.control_history import history_on_record
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.lookup import find
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import ClosedcupError
from closedcup.laboratory import (
    Apparatus,
    Verification,
    VerificationConditions,
    service_checklist,
)
from closedcup.laboratory.checklist import close_down_checklist, start_of_day_checklist
from closedcup.methods import methods
from closedcup.quantities import standard_pressure_kpa

SYMBOLS: Final = {
    "not yet in service": "next",
    "in service, not verified": "held",
    "in control": "good",
    "out of control": "stop",
}


def show(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """Show an apparatus: its states, what is open, its verifications, the card of the day."""
    opened, ledger = visit.opened, visit.opened.state
    apparatus = find(ledger.apparatus, visit.path("apparatus"), "apparatus")
    materials = [
        (each.id, f"{each.id}: {each.liquid}, lot {each.lot}, {each.value_c} °C by {each.method}")
        for each in ledger.materials.values()
        if each.method in apparatus.methods and standing_of(opened, each.id)["in_date"]
    ]
    return page(
        visit,
        "one_apparatus.html",
        status=status,
        apparatus=apparatus,
        states=[
            row for row in overview.apparatus_states(opened) if row["apparatus"] == apparatus.id
        ],
        due_lines=due_lines(opened, apparatus.id),
        symbols=SYMBOLS,
        probe=ledger.probes.get(apparatus.id),
        rates=rates_on_record(opened, apparatus.id),
        verifications=ledger.verifications.get(apparatus.id, ()),
        materials_offered=materials,
        people_offered=[(each, opened.name_of(each)) for each in ledger.people],
        by=opened.by,
        made_last=_conditions_last(ledger.verifications.get(apparatus.id, ())),
        charts=_charts(visit, apparatus),
        faulty=faulty,
        form_named=lambda name: visit.form if name == faulty else Form(),
        **_checklists(opened, apparatus),
    )


def _conditions_last(made: tuple[Verification, ...]) -> VerificationConditions:
    """Return what the last verification was made under: lid and igniter seldom change."""
    written = [each.conditions for each in made if each.conditions is not None]
    return written[-1] if written else VerificationConditions()


def _charts(visit: Visit, apparatus: Apparatus) -> list[dict[str, Any]]:
    """Return the control chart for each published method that was verified; else why not."""
    made = visit.opened.state.verifications.get(apparatus.id, ())
    by_designation = {each.designation: each.id for each in methods()}
    of_method = {each.id: each.designation for each in methods()}
    drawn = []
    for designation in dict.fromkeys(of_method[each.method] for each in made):
        try:
            history = history_on_record(visit.opened, apparatus.id, by_designation[designation])
            answer = charted(history, Wishes())
            drawn.append(
                {
                    "title": designation,
                    "svg": chart_picture(answer),
                    "warnings": answer["warnings"],
                    "why_not": "",
                }
            )
        except ClosedcupError as error:
            drawn.append({"title": designation, "svg": "", "warnings": [], "why_not": error.what})
    return drawn


def _checklists(opened: OpenLaboratory, apparatus: Apparatus) -> dict[str, Any]:
    """Return where each checklist of an apparatus stands."""
    ledger, listed = opened.state, service_checklist()
    answers = ledger.service_answers.get(apparatus.id, ())
    still_open = listed.open_items(answers)
    given = {answer.item: answer for answer in answers}
    today = (apparatus.id, opened.clock().date().isoformat())
    site = ledger.site
    return {
        "open_items": still_open,
        "answered_items": [
            (item, given[item.id].finding) for item in listed.items if item not in still_open
        ],
        "service_items": len(listed.items),
        "findings": {answer.item: answer.finding for answer in answers},
        "day_items": start_of_day_checklist().items,
        "day_card": ledger.day_cards.get(today),
        "close_items": close_down_checklist().items,
        "closed_down": ledger.closed_down.get(today),
        "pressure_hint": ""
        if site is None
        else f"At {site.altitude_m:g} m about {standard_pressure_kpa(site.altitude_m):.1f} kPa is "
        "usual in the laboratory.",
    }
