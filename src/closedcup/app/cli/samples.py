"""Commands for the desk: take a sample in, record what is known, agree the test, make the plan."""

from decimal import Decimal
from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import SampleId, TestId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
)

_PANEL = "The desk"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (receive, sample, evidence, request, plan, review):
        application.command(rich_help_panel=_PANEL)(command)


def receive(
    description: Annotated[str, typer.Option(help="What it is said to be.")],
    volume: Annotated[str, typer.Option(help="How much there is: “100 mL”.")],
    customer: Annotated[str, typer.Option(help="For whom.")],
    customer_contact: Annotated[str, typer.Option(help="How to reach them.")] = "",
    identifier: Annotated[str | None, typer.Option("--id", help="An id of your own.")] = None,
    condition: Annotated[str, typer.Option(help="Condition on arrival.")] = "",
    container: Annotated[str, typer.Option(help="Container and closure.")] = "",
    component: Annotated[
        list[str] | None, typer.Option("-c", "--component", help="NAME=AMOUNT; once for each.")
    ] = None,
    basis: Annotated[str, typer.Option(help="mole, mass or volume.")] = "mass",
    trust: Annotated[str, typer.Option(help="declared, measured or unknown.")] = "unknown",
    kind: Annotated[str, typer.Option(help="Product kind, as the methods tell them apart.")] = "",
    product: Annotated[
        str, typer.Option(help="What it is in the rules' words: diesel, marine fuel …")
    ] = "",
    fill: Annotated[str | None, typer.Option(help="Filling of the container: “90 %”.")] = None,
    arrived: Annotated[str | None, typer.Option(help="Temperature on arrival.")] = None,
    received_at: Annotated[str | None, typer.Option(help="When, if not now (ISO 8601).")] = None,
    sampled_at: Annotated[str, typer.Option(help="When it was sampled.")] = "",
    sampling: Annotated[str, typer.Option(help="How it was sampled.")] = "",
    waste: Annotated[bool, typer.Option("--waste", help="It is waste.")] = False,
    suspected: Annotated[
        list[str] | None, typer.Option(help="A suspected contaminant; once for each.")
    ] = None,
    hazard: Annotated[
        list[str] | None, typer.Option(help="A hazard in the stop list's words.")
    ] = None,
    history: Annotated[
        list[str] | None, typer.Option(help="An earlier flash point: “61 degC=last delivery”.")
    ] = None,
    in_doubt: Annotated[
        bool, typer.Option("--in-doubt", help="Its condition is poor: ask the customer first.")
    ] = False,
    priority: Annotated[str, typer.Option(help="urgent or routine.")] = "routine",
    due: Annotated[str, typer.Option(help="The day it is due: 2026-03-06.")] = "",
    keep_until: Annotated[str, typer.Option(help="Last day it is kept: 2026-06-30.")] = "",
    keep_days: Annotated[
        int | None, typer.Option(help="Days it is kept from the last report.")
    ] = None,
    keep_back: Annotated[
        str | None, typer.Option(help="How much is kept back for a dispute: “50 mL”.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Take a sample in."""
    from closedcup.app.usecases.desk import overview
    from closedcup.app.usecases.desk import samples as desk
    from closedcup.laboratory import Component, PastResult, Sample
    from closedcup.quantities import (
        parse_amount,
        parse_fraction,
        parse_temperature,
        parse_volume,
    )

    amounts = [parse_amount(text) for text in component or ()]
    past = [text.partition("=") for text in history or ()]
    with opened(by) as laboratory:
        taken = desk.receive_sample(
            laboratory,
            Sample(
                id=identifier or desk.next_sample_id(laboratory),
                description=description,
                customer=customer,
                customer_contact=customer_contact,
                received_at=received_at or laboratory.clock().isoformat(),
                condition=condition,
                container=container,
                volume_ml=Decimal(repr(parse_volume(volume).ml)),
                composition=desk.composition(
                    trust, basis, tuple(Component(each.name, each.fraction) for each in amounts)
                ),
                kind=kind,
                product=product,
                fill_percent=None
                if fill is None
                else Decimal(parse_fraction(fill, where="fill")[0] * 100),
                arrived_c=None
                if arrived is None
                else Decimal(repr(parse_temperature(arrived, where="arrived").c)),
                sampled_at=sampled_at,
                sampling=sampling,
                is_waste=waste,
                suspected=tuple(suspected or ()),
                hazards=tuple(hazard or ()),
                history=tuple(
                    PastResult(Decimal(repr(parse_temperature(text, where="history").c)), what)
                    for text, _, what in past
                ),
                in_doubt=in_doubt,
                priority=priority,
                due=due,
                keep_until=keep_until,
                keep_days=keep_days,
                kept_back_ml=None
                if keep_back is None
                else Decimal(repr(parse_volume(keep_back).ml)),
            ),
            key=key,
        )
        answer = overview.sample_overview(laboratory, taken.id)
    _print_sample(answer, as_json=as_json)


def sample(identifier: SampleId, as_json: AsJson = False) -> None:
    """Show a sample: what it is, what was asked, what was found."""
    from closedcup.app.usecases.desk import overview

    with opened() as laboratory:
        _print_sample(overview.sample_overview(laboratory, identifier), as_json=as_json)


def _print_sample(answer: dict[str, Any], *, as_json: bool) -> None:
    if as_json:
        print_json(answer)
        return
    print_facts(
        f"Sample {answer['id']}",
        [
            ("what it is", answer["description"]),
            ("customer", answer["customer"]),
            ("received", answer["received_at"]),
            ("composition", answer["composition"]["trust"]),
            ("left", f"{answer['volume_left_ml']:g} mL"),
            ("state", answer["state"]),
            ("next", answer["next"]),
        ],
    )
    for test in answer["tests"]:
        print_facts(
            f"Test {test['id']}",
            [
                ("method", test["method"]),
                ("asked", test["asked"]),
                ("result", (test["result"] or {}).get("statement")),
                ("state", test["state"]),
                ("report", test["report"]),
                ("parameters", None if test["confirmed"] else "unconfirmed"),
            ],
        )


def evidence(
    sample_id: SampleId,
    name: Annotated[str, typer.Option(help="Property, such as boiling_c.")],
    value: Annotated[str, typer.Option(help="Its value, in the unit the name ends in.")],
    method: Annotated[str, typer.Option(help="How it was determined.")],
    determined_on: Annotated[str, typer.Option(help="Date: 2026-03-02.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record a property that a classification needs, with its method and date."""
    from closedcup.app.usecases.desk import samples as desk
    from closedcup.laboratory import Evidence

    found = Evidence(name, value, method, determined_on)
    with opened(by) as laboratory:
        desk.record_evidence(laboratory, sample_id, found, key=key)
    answer = {"sample": sample_id, "name": name, "value": value, "method": method}
    if as_json:
        print_json(answer)
    else:
        print_facts("Recorded", list(answer.items()))


def request(
    sample_id: SampleId,
    method: Annotated[str, typer.Option(help="The method.")],
    limit: Annotated[
        str | None, typer.Option(help="“<60 degC”, “>=60 degC”, “>=38 degC and <=60 degC”, …")
    ] = None,
    step: Annotated[str, typer.Option(help="Last step: “1 degC” or “0.5 degC”.")] = "1 degC",
    decision_rule: Annotated[
        str,
        typer.Option(help="simple, guarded, “guarded 5 %” or recipient: agreed now, for a limit."),
    ] = "",
    safety: Annotated[
        bool, typer.Option("--safety", help="A safety limit: it gets no tolerance.")
    ] = False,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Agree a test on a sample: a finite flash point, or flash at a limit."""
    from closedcup.app.usecases.desk import overview
    from closedcup.app.usecases.desk import samples as desk
    from closedcup.conformity import parse_specification
    from closedcup.laboratory import RequestedTest
    from closedcup.methods import method as find_method
    from closedcup.quantities import parse_difference

    limits = () if limit is None else parse_specification(limit).limits
    chosen = find_method(method)
    with opened(by) as laboratory:
        test = desk.request_test(
            laboratory,
            RequestedTest(
                id=desk.next_test_id(laboratory, sample_id),
                sample=sample_id,
                method=chosen.id,
                kind="limit" if chosen.test == "flash/no-flash" else "finite",
                step_c=parse_difference(step, where="step").c,
                limit=limits[0] if limits else None,
                second_limit=limits[1] if len(limits) > 1 else None,
                safety_limit=safety and bool(limits),
                decision_rule=decision_rule,
            ),
            key=key,
        )
        answer = overview.test_overview(laboratory, test.id)
    if as_json:
        print_json(answer)
    else:
        print_facts(f"Test {test.id}", [("method", test.method), ("asked", answer["asked"])])


def plan(
    test_id: TestId,
    pressure: Annotated[str, typer.Option(help="Station pressure now.")],
    apparatus: Annotated[
        str, typer.Option(help="The apparatus; without it the plan chooses and says why.")
    ] = "",
    activity: Annotated[
        str, typer.Option(help="unifac, dortmund or ideal; else by the kind of blend.")
    ] = "default",
    expected: Annotated[
        str | None, typer.Option(help="What you expect, corrected: it can only lower the start.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Read the stop list, estimate, and give the starting temperature with its rule."""
    from closedcup.app.usecases.planning import planning
    from closedcup.quantities import parse_pressure, parse_temperature

    with opened(by) as laboratory:
        answer = planning.make_plan(
            laboratory,
            test_id,
            apparatus,
            parse_pressure(pressure),
            activity=activity,
            expected=None if expected is None else parse_temperature(expected, where="expected"),
            key=key,
        )
    if as_json:
        print_json(answer)
        return
    print_list(
        "Stop list",
        [
            f"{item['hazard']}: {item['consequence']}. {item['caution']}"
            for item in answer["hazards"]
        ],
    )
    estimate = answer["estimate"]
    print_facts(
        f"Plan for {test_id}",
        [
            ("decision", answer["decision"]),
            ("estimate", None if estimate is None else degrees(estimate["flash_point_c"])),
            (
                "interval",
                None
                if estimate is None
                else f"{estimate['low_c']:.1f} to {estimate['high_c']:.1f} °C",
            ),
            ("no estimate", answer["estimate_refused"]),
            ("apparatus", answer["apparatus"]),
            ("starting temperature", degrees(answer["starting_cup_c"])),
            ("rule", answer["rule"]),
            ("trusts", answer["trusts"]),
            *_planned_facts(answer),
        ],
    )
    print_list("Why", answer["why"])
    print_list("Why this apparatus", answer["apparatus_why"])
    print_list("Warnings", answer["warnings"])


def _planned_facts(answer: dict[str, Any]) -> list[tuple[str, Any]]:
    """Say what the plan expects of the search and what it believes, where it does."""
    planned, belief = answer["planned"], answer["belief"]
    rates = f"{answer['heats_c_per_min']:g} up, {answer['cools_c_per_min']:g} down, °C/min"
    facts: list[tuple[str, Any]] = [("cup's rates", f"{rates} ({answer['rates_from']})")]
    if planned is not None:
        expected = f"{planned['specimens']:.1f} specimens, {planned['minutes']:.0f} min"
        facts.append(("expected", f"{expected}, {planned['overshoots']:.2f} overshoots"))
    if belief is not None:
        ends = f"{belief['low_corrected_c']:.1f} to {belief['high_corrected_c']:.1f} °C"
        facts.append(("believed", f"{ends} (95 %), from {belief['from']}"))
    return facts


def review(
    test_id: TestId,
    reviewer: Annotated[str, typer.Option(help="The reviewer's id.")],
    proceed: Annotated[bool, typer.Option("--proceed/--refuse", help="The decision.")],
    conditions: Annotated[str, typer.Option(help="Under which conditions, and why.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record a named reviewer's decision on a test that the stop list holds back."""
    from closedcup.app.usecases.planning import planning

    with opened(by) as laboratory:
        answer = planning.review_hazards(
            laboratory, test_id, reviewer, proceed=proceed, conditions=conditions, key=key
        )
    if as_json:
        print_json(answer)
    else:
        print_facts("Review recorded", list(answer.items()))
