"""Commands that say what a flash point means: classes regime by regime, conformity with a limit."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.calculations import MethodOption
from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
)

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (classify, conform):
        application.command(rich_help_panel=_PANEL)(command)


def classify(
    flash: Annotated[str, typer.Option(help="Flash point corrected to 101.3 kPa: “22.5 degC”.")],
    boils: Annotated[str | None, typer.Option(help="Initial boiling point: “78 degC”.")] = None,
    method: MethodOption = None,
    viscosity: Annotated[str | None, typer.Option(help="Kinematic, at 23 °C: “90 mm2/s”.")] = None,
    flow_time: Annotated[str | None, typer.Option(help="Through the flow cup: “70 s”.")] = None,
    cup_jet: Annotated[str | None, typer.Option(help="Jet of the flow cup: “4 mm”.")] = None,
    sustains: Annotated[str | None, typer.Option(help="Sustains combustion: yes or no.")] = None,
    fire_point: Annotated[str | None, typer.Option(help="Fire point: “101 degC”.")] = None,
    water: Annotated[str | None, typer.Option(help="Water, percent by mass: “55”.")] = None,
    alcohol: Annotated[str | None, typer.Option(help="Alcohol, percent by volume: “20”.")] = None,
    product: Annotated[str | None, typer.Option(help="Kind of product, such as diesel.")] = None,
    carried_at: Annotated[str | None, typer.Option(help="Carried at: “80 degC”.")] = None,
    receptacle: Annotated[str | None, typer.Option(help="Receptacle: “450 L”.")] = None,
    mode: Annotated[
        str | None, typer.Option(help="road, sea, air, or ground (inside the United States).")
    ] = None,
    used_at: Annotated[str | None, typer.Option(help="Used at: “40 degC”.")] = None,
    separation: Annotated[
        str | None, typer.Option(help="Clear solvent layer, percent: “2”.")
    ] = None,
    other_hazards: Annotated[
        str | None, typer.Option(help="Toxic (6.1) or corrosive (8): yes or no.")
    ] = None,
    more: Annotated[
        list[str] | None,
        typer.Option("--property", help="Another property, as on record: “class3_percent=55”."),
    ] = None,
    reported: Annotated[
        str | None, typer.Option(help="The rounded result, if it is not the method's rounding.")
    ] = None,
    uncertainty: Annotated[
        str | None, typer.Option(help="Expanded uncertainty (k = 2); else from the method's R.")
    ] = None,
    law_only: Annotated[
        bool,
        typer.Option("--law-only", help="Ask to confirm near a limit only where the rule does."),
    ] = False,
    legacy: Annotated[
        bool, typer.Option("--legacy", help="Old divisions and open-cup grades as well.")
    ] = False,
    picture: Annotated[
        Path | None, typer.Option(help="Draw the regimes side by side into this SVG file.")
    ] = None,
    calculated: Annotated[
        bool, typer.Option("--calculated", help="The flash point was calculated, not tested.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say what a flash point means for labelling, transport, waste and storage."""
    from closedcup.app.usecases.desk.evidence import typed_evidence
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.app.usecases.results.classifying import classifications, regimes_picture

    evidence = typed_evidence(
        flash=flash,
        boils=boils,
        method=method,
        viscosity=viscosity,
        flow_time=flow_time,
        cup_jet=cup_jet,
        sustains=sustains,
        fire_point=fire_point,
        water=water,
        alcohol=alcohol,
        product=product,
        carried_at=carried_at,
        receptacle=receptacle,
        mode=mode,
        used_at=used_at,
        separation=separation,
        other_hazards=other_hazards,
        properties=more or [],
        reported=reported,
        uncertainty=uncertainty,
        calculated=calculated,
    )
    answers = classifications(
        evidence, lookup=method_in_use, good_practice=not law_only, all_on_file=legacy
    )
    if picture is not None:
        drawn = regimes_picture(evidence, lookup=method_in_use, all_on_file=legacy)
        picture.write_text(drawn, encoding="utf-8")
    if as_json:
        print_json(answers)
        return
    print_classifications(answers)


def print_classifications(answers: list[dict[str, Any]]) -> None:
    """Print classifications as a table, with what is missing and the notes below."""
    print_rows(
        [
            {
                **answer,
                "margin": _margin_words(answer),
                "chance": _chance_words(answer),
            }
            for answer in answers
        ],
        [
            ("regime", "regime"),
            ("classification", "classification"),
            ("chance", "chance"),
            ("margin", "to the nearest limit"),
            ("clause", "clause"),
            ("edition", "edition"),
        ],
    )
    for answer in answers:
        print_list(
            f"{answer['regime']}",
            [
                *(f"missing: {what}" for what in answer["missing"]),
                *answer["notes"],
                *(f"would change it: {what}" for what in answer["evidence_would_change"]),
            ],
        )


def _margin_words(answer: dict[str, Any]) -> str:
    if answer["margin_c"] is None:
        return ""
    in_r = "" if answer.get("margin_r") is None else f" ({answer['margin_r']:+.2f} R)"
    return f"{answer['margin_c']:+.2f} °C{in_r}"


def _chance_words(answer: dict[str, Any]) -> str:
    """Write the likeliest classes with their chances; old answers have none."""
    return ", ".join(
        f"{one['classification']} {one['probability']:.0%}"
        for one in answer.get("chances", [])
        if one["probability"] >= 0.005
    )


def conform(
    limit: Annotated[str, typer.Option(help="“>=60 degC”, or two: “>=38 degC and <=60 degC”.")],
    result: Annotated[str | None, typer.Option(help="Flash point corrected to 101.3 kPa.")] = None,
    uncertainty: Annotated[
        str | None, typer.Option(help="Expanded uncertainty (k = 2): “2 degC”.")
    ] = None,
    method: MethodOption = None,
    product: Annotated[str | None, typer.Option(help="Kind of product.")] = None,
    rule: Annotated[
        str, typer.Option(help="simple, guarded, “guarded 5 %” or recipient.")
    ] = "simple",
    safety: Annotated[
        bool, typer.Option("--safety", help="A safety limit: it gets no tolerance.")
    ] = False,
    process_mean: Annotated[
        str | None, typer.Option(help="Mean of the batches that are made: “63 degC”.")
    ] = None,
    process_spread: Annotated[
        str | None, typer.Option(help="Their standard deviation: “1.5 degC”.")
    ] = None,
    laboratory: Annotated[
        list[str] | None,
        typer.Option(help="Several laboratories on one batch: “A=61.5 degC”, repeated."),
    ] = None,
    probability: Annotated[
        float, typer.Option(help="With laboratories: chance of accepting at the limit, agreed.")
    ] = 0.5,
    rounded_to: Annotated[
        str | None, typer.Option(help="With laboratories: step of the assigned value, agreed.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say whether a result meets a limit under the decision rule that was agreed."""
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.app.usecases.results import conforming
    from closedcup.conformity import parse_specification
    from closedcup.errors import InputError
    from closedcup.quantities import parse_difference, parse_temperature

    def difference(text: str | None, where: str) -> Any:
        return None if text is None else parse_difference(text, where=where)

    specification = parse_specification(limit)
    if (result is None) is not bool(laboratory):
        raise InputError(
            "result-missing",
            "Conformity is of one result, or of the results of laboratories.",
            where="result",
            fix="Give --result “61.5 degC”, or --laboratory “A=61.5 degC” for each of them.",
        )
    if result is not None:
        answer = conforming.conformity(
            specification,
            parse_temperature(result, where="result"),
            uncertainty=difference(uncertainty, "uncertainty"),
            method_id=method,
            product=product,
            rule=rule,
            safety_limit=safety,
            process=conforming.stated_process(process_mean, difference(process_spread, "process")),
            lookup=method_in_use,
        )
    else:
        if method is None:
            raise InputError(
                "method-missing",
                "Laboratories are compared by r and R of the method.",
                where="method",
                fix="Name it with --method.",
            )
        answer = conforming.among_laboratories(
            specification,
            conforming.parse_laboratories(laboratory or []),
            method_id=method,
            product=product,
            probability=probability,
            rounding=difference(rounded_to, "rounded-to"),
            safety_limit=safety,
            lookup=method_in_use,
        )
    if as_json:
        print_json(answer)
    else:
        print_conformity(limit, answer)
    if not answer["conforms"]:
        raise typer.Exit(4)


def print_conformity(limit: str, answer: dict[str, Any]) -> None:
    """Print a decision with its chance, its risks, and what may be said of it."""

    def share(name: str) -> str | None:
        value = answer.get(name)
        return None if value is None else f"{value:.1%}"

    print_facts(
        f"Conformity with {limit}",
        [
            ("conforms", "yes" if answer["conforms"] else "NO"),
            (
                "assigned value",
                degrees(answer["assigned_c"], 2) if "assigned_c" in answer else None,
            ),
            ("acceptance limit", degrees(answer["acceptance_limit_c"], 2)),
            ("probability of conformity", share("probability_conforming")),
            ("risk of this decision", share("risk")),
            ("probability with the process", share("probability_with_process")),
            ("batches wrongly accepted", share("global_consumer_risk")),
            ("batches wrongly rejected", share("global_producer_risk")),
            ("rule", answer["rule"]),
        ],
    )
    print_list("In words", answer["words"])
    print_list("Notes", answer.get("notes", []))
