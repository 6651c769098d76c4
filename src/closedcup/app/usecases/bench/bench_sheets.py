"""Print a bench sheet for a test, or a blank one."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk.overview import asked_words
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.methods import Method, Observation, cautions_for
from closedcup.records.facts import Plan
from closedcup.reports.bench_sheet import BenchSheet, render_bench_sheet

_LETTERS = "NFCHSBOVL"
"""One letter for each observation, in the order of `Observation`."""

_RULES = {
    "equilibrium": "One fresh specimen for each line: set, load with the cup at or below the "
    "temperature, wait the dwell, apply the igniter once. In a cup below the room's temperature "
    "the dwell counts from its recovery: write that time under “Loaded at”, and say so.",
    "ramp": "One specimen for the whole sheet: load at or below the start, heat at the method's "
    "rate, one line for each application.",
    "stirred ramp": "One specimen for the whole sheet: fill a cold cup to its mark, heat and stir "
    "as the method says, one line for each application; note the first one.",
    "bath": "One specimen for the whole sheet: warm the bath slowly, one line for each "
    "application.",
    "continuously closed": "One specimen for the whole sheet: close the cup, heat; one line for "
    "what the detector said.",
}


def sheet_for(opened: OpenLaboratory, test_id: str | None) -> bytes:
    """Return a bench sheet as PDF: filled in as far as the plan goes, or blank without a test."""
    site = opened.state.site
    demonstration = site is not None and site.demonstration
    if test_id is None:
        facts = [(name, "") for name in ("Sample", "Test", "Method", "Apparatus", "Pressure")]
        return render_bench_sheet(
            _sheet("Bench sheet", facts, "equilibrium", 20.0, (), demonstration)
        )
    ledger = opened.state
    test = find(ledger.tests, test_id, "test")
    sample, plan, chosen = (
        ledger.samples[test.sample],
        ledger.plans.get(test_id),
        method_of(ledger, test.method),
    )
    start_c = None if plan is None else plan.start_cup_c
    dwell = (
        None if start_c is None else chosen.specimen_rule(_product(sample.kind, chosen), start_c)
    )
    facts = [
        ("Sample", f"{sample.id}, {sample.description}"),
        ("Test", f"{test.id}: {asked_words(test)}"),
        ("Method", chosen.name),
        ("Apparatus", "" if plan is None else str(plan.start["apparatus"])),
        (
            "Pressure",
            "" if plan is None else f"planned at {plan.start['pressure_kpa']:g} kPa; now:",
        ),
        ("Specimen and dwell", "" if dwell is None else _specimen_words(dwell)),
        ("Stop list", "" if plan is None else _hazard_words(plan)),
        ("Sample opened at, °C", ""),
    ]
    if not chosen.confirmed:
        facts.append(("Parameters", "unconfirmed: follow your own copy"))
    if _rule_of(chosen) != "equilibrium":
        facts += [("Heating started at", ""), ("Rate measured, °C/min", "")]
    points = () if start_c is None else (f"{start_c:.1f}",)
    sheet = _sheet(
        f"Bench sheet {test_id}", facts, _rule_of(chosen), start_c or 20.0, points, demonstration
    )
    return render_bench_sheet(sheet)


def _rule_of(chosen: Method) -> str:
    """Return whose rule the sheet prints: at a limit each specimen has one temperature."""
    return "equilibrium" if chosen.test == "flash/no-flash" else chosen.procedure


def _product(kind: str, chosen: Any) -> str:
    return kind or str(chosen.default_product)


def _specimen_words(rule: Any) -> str:
    dwell = "" if rule.dwell is None else f", {rule.dwell.value:g} s"
    fill = f", {rule.fill}" if rule.fill else ""
    return f"{rule.volume.value:g} mL{fill}{dwell}"


def _hazard_words(plan: Plan) -> str:
    return "; ".join(f"{item['hazard']}: {item['consequence']}" for item in plan.hazards) or "none"


def _sheet(
    title: str,
    facts: list[tuple[str, str]],
    procedure: str,
    cup_c: float,
    points: tuple[str, ...],
    demonstration: bool,
) -> BenchSheet:
    cautions = [
        caution.text
        for step in ("load specimen", "wait and apply")
        for caution in cautions_for(step, cup_c, procedure)
    ]
    return BenchSheet(
        title=title,
        facts=facts,
        cautions=list(dict.fromkeys(cautions)),
        rule=_RULES[procedure],
        letters=list(zip(_LETTERS, Observation, strict=True)),
        set_points=points,
        is_run=procedure != "equilibrium",
        demonstration=demonstration,
    )
