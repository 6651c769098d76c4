"""Commands that set a laboratory up and keep its apparatus right."""

from dataclasses import asdict
from decimal import Decimal
from typing import Annotated

import typer

from closedcup.app.cli.arguments import ApparatusId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows

_BEGIN = "Begin here"
_PANEL = "Apparatus and methods"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_BEGIN)(establish)
    application.command(rich_help_panel=_BEGIN)(person)
    application.command("erase-name", rich_help_panel="People and rights")(erase_name)
    application.command(rich_help_panel=_PANEL)(apparatus)
    application.command("put-into-service", rich_help_panel=_PANEL)(put_into_service)
    application.command("probe-check", rich_help_panel=_PANEL)(probe_check)
    application.command(rich_help_panel=_PANEL)(verify)


def establish(
    name: Annotated[str, typer.Option(help="The laboratory's name, as printed on reports.")],
    address: Annotated[str, typer.Option(help="Its address.")],
    altitude: Annotated[str, typer.Option(help="Height above sea level: “250 m”.")],
    contact: Annotated[str, typer.Option(help="How to reach it.")] = "",
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Say which laboratory these records belong to (once)."""
    from closedcup.app.usecases.apparatus import establishing
    from closedcup.laboratory import Site
    from closedcup.quantities import parse_altitude

    site = Site(name, address, contact, parse_altitude(altitude))
    with opened(by) as laboratory:
        establishing.establish(laboratory, site)
    if as_json:
        print_json(asdict(site))
    else:
        print_facts("Laboratory established", list(asdict(site).items()))


def person(
    identifier: Annotated[str, typer.Argument(metavar="ID", help="An id for them: “mk”.")],
    name: Annotated[str, typer.Option(help="The name, kept outside the records' chain.")],
    role: Annotated[
        str, typer.Option(help="analyst, reviewer, quality lead, specialist or reader.")
    ] = "analyst",
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Register a person."""
    from closedcup.app.usecases.apparatus import establishing
    from closedcup.laboratory import Person

    with opened(by) as laboratory:
        registered = establishing.register_person(laboratory, Person(identifier, role), name)
    if as_json:
        print_json({**asdict(registered), "name": name})
    else:
        print_facts("Person registered", [("id", identifier), ("name", name), ("role", role)])


def erase_name(
    person: Annotated[str, typer.Argument(metavar="ID", help="Whose name to erase.")],
    reason: Annotated[str, typer.Option(help="Why: “left, asked for it”.")],
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Erase a person's name; their id stays in what they did."""
    from closedcup.app.usecases.apparatus import establishing

    with opened(by) as laboratory:
        answer = establishing.erase_name(laboratory, person, reason)
    if as_json:
        print_json(answer)
        return
    print_facts("Name erased", [("id", person), ("reason", reason)])
    print_list(
        "Still there",
        [
            "The id, in every entry; the name, on reports and in backups made before.",
            "After a restore, erase the name again.",
        ],
    )


def apparatus(
    identifier: Annotated[
        str | None, typer.Argument(metavar="[ID]", help="An id for it: “SC-1”; none: list.")
    ] = None,
    description: Annotated[str, typer.Option(help="What it is.")] = "",
    serial: Annotated[str, typer.Option(help="Serial number.")] = "",
    location: Annotated[str, typer.Option(help="Where it stands.")] = "",
    method: Annotated[
        list[str] | None, typer.Option(help="A method that it can run; once for each.")
    ] = None,
    lowest: Annotated[str, typer.Option(help="Lowest cup temperature: “0 degC”.")] = "20 degC",
    highest: Annotated[str, typer.Option(help="Highest: “300 degC”.")] = "110 degC",
    igniter: Annotated[str, typer.Option(help="gas or electric.")] = "gas",
    detector: Annotated[bool, typer.Option("--detector", help="It has a flash detector.")] = False,
    firmware: Annotated[str, typer.Option(help="Firmware version.")] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Register an apparatus; without an ID, list them with their states."""
    from closedcup.app.usecases.apparatus import establishing
    from closedcup.app.usecases.desk import overview
    from closedcup.laboratory import Apparatus
    from closedcup.quantities import parse_temperature

    with opened(by) as laboratory:
        if identifier is not None:
            establishing.register_apparatus(
                laboratory,
                Apparatus(
                    id=identifier,
                    description=description,
                    serial=serial,
                    location=location,
                    methods=tuple(method or ()),
                    lowest_cup_c=Decimal(repr(parse_temperature(lowest, where="lowest").c)),
                    highest_cup_c=Decimal(repr(parse_temperature(highest, where="highest").c)),
                    igniter=igniter,
                    has_detector=detector,
                    firmware=firmware,
                ),
                key=key,
            )
        listed = overview.apparatus_states(laboratory)
    if as_json:
        print_json(listed)
    else:
        print_rows(
            [
                row | {"state": f"HELD {row['hold']}; {row['state']}"} if row["hold"] else row
                for row in listed
            ],
            [
                ("apparatus", "apparatus"),
                ("description", "what it is"),
                ("method", "method"),
                ("state", "state"),
                ("verified_at", "last verified"),
            ],
        )


def put_into_service(
    apparatus: Annotated[
        str | None, typer.Argument(metavar="[APPARATUS]", help="Which; none: print the list.")
    ] = None,
    done: Annotated[
        list[str] | None,
        typer.Option(help="ITEM or ITEM=finding, once for each item that is done."),
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Answer the put-into-service checklist, in as many goes as it takes; alone, print it."""
    from closedcup.app.usecases.apparatus import establishing
    from closedcup.laboratory import ServiceAnswer, service_checklist

    if apparatus is None:
        checklist = service_checklist()
        if as_json:
            print_json(asdict(checklist))
            return
        for stage in dict.fromkeys(item.stage for item in checklist.items):
            lines = []
            for item in checklist.items:
                if item.stage == stage:
                    lines.append(
                        f"{item.id}: {item.what}" + (" [finding]" if item.needs_finding else "")
                    )
                    lines += [f"    CAUTION: {item.caution}"] if item.caution else []
            print_list(stage.capitalize(), lines)
        return
    answers = tuple(
        ServiceAnswer(item=item.strip(), done=True, finding=finding.strip())
        for item, _, finding in (text.partition("=") for text in done or ())
    )
    with opened(by) as laboratory:
        still_open = establishing.put_into_service(laboratory, apparatus, answers, key=key)
    if as_json:
        print_json(
            {
                "apparatus": apparatus,
                "in_service": not still_open,
                "open": [asdict(item) for item in still_open],
            }
        )
        return
    print_facts(f"Apparatus {apparatus}", [("in service", "yes" if not still_open else "not yet")])
    print_list(
        "Still open",
        [
            f"{item.id}: {item.what}" + (" [finding]" if item.needs_finding else "")
            for item in still_open
        ],
    )


def probe_check(
    apparatus: ApparatusId,
    correction: Annotated[
        str, typer.Option(help="To be added to the reading: “0.2 degC”; or “none on record”.")
    ],
    certificate: Annotated[str, typer.Option(help="Certificate or record.")] = "",
    checked_on: Annotated[str, typer.Option(help="Date: 2026-03-02.")] = "",
    calibration: Annotated[
        str | None,
        typer.Option(help="CSV of its points, for the budget: reading_c, correction_c."),
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record the correction of an apparatus's temperature probe."""
    from closedcup.app.usecases.apparatus import establishing
    from closedcup.app.usecases.uncertainty.result_budget import calibration_points
    from closedcup.laboratory import ProbeCheck
    from closedcup.quantities import parse_difference

    none = correction.strip().lower() in {"none", "none on record"}
    value = None if none else Decimal(repr(parse_difference(correction, where="correction").c))
    points = ((), ()) if calibration is None else calibration_points(calibration)
    check = ProbeCheck(apparatus, value, certificate, checked_on, *points)
    with opened(by) as laboratory:
        establishing.record_probe_check(laboratory, check, key=key)
    answer = {
        "apparatus": apparatus,
        "probe_correction_c": None if value is None else float(value),
        "certificate": certificate,
    }
    if as_json:
        print_json(answer)
    else:
        words = "none on record" if value is None else f"{value:+} °C"
        print_facts("Probe check recorded", [("apparatus", apparatus), ("correction", words)])


def verify(
    apparatus: Annotated[str, typer.Option(help="The apparatus.")],
    material: Annotated[str, typer.Option(help="The reference material.")],
    result: Annotated[
        list[str], typer.Option(help="Corrected result; once for each repeat: “49.5 degC”.")
    ],
    pressure: Annotated[
        str | None,
        typer.Option(help="Station pressure: “95.2 kPa”; else that of the card of the day."),
    ] = None,
    correction: Annotated[
        str | None, typer.Option(help="What was added for pressure: “1.5 degC”.")
    ] = None,
    heating_rate: Annotated[
        float | None, typer.Option(help="Heating rate as measured, °C a minute.")
    ] = None,
    lid: Annotated[str, typer.Option(help="Which lid, as labelled.")] = "",
    igniter: Annotated[str, typer.Option(help="Which igniter, as labelled.")] = "",
    operator: Annotated[
        str, typer.Option(help="Who made the results; who records them unless given.")
    ] = "",
    order: Annotated[
        int | None,
        typer.Option(help="Place of the first result in the apparatus's day, from 1."),
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Verify an apparatus against a reference material; exit 4 when out of control.

    What it was made under is not needed, but `closedcup diagnose` finds causes only in what is on
    record.
    """
    from closedcup.app.usecases.apparatus import verifying
    from closedcup.laboratory import VerificationConditions
    from closedcup.quantities import parse_difference, parse_pressure, parse_temperature

    made_under = VerificationConditions(
        pressure=None if pressure is None else parse_pressure(pressure),
        correction_applied_c=None
        if correction is None
        else Decimal(repr(parse_difference(correction, where="correction").c)),
        heating_rate_c_per_min=None if heating_rate is None else Decimal(repr(heating_rate)),
        lid=lid,
        igniter=igniter,
        operator=operator,
        order_in_day=order,
    )
    values = tuple(parse_temperature(text, where="result") for text in result)
    with opened(by) as laboratory:
        answer = verifying.verify_apparatus(
            laboratory, apparatus, material, values, made_under=made_under, key=key
        )
    if as_json:
        print_json(answer)
    else:
        print_facts(
            "Verification",
            [
                ("apparatus", apparatus),
                ("mean", f"{answer['mean_c']:.2f} °C"),
                ("reference value", f"{answer['reference_c']:.2f} °C"),
                ("difference", f"{answer['difference_c']:+.2f} °C"),
                ("permitted", f"± {answer['permitted_c']:.2f} °C"),
                ("in control", "yes" if answer["in_control"] else "NO: results are held"),
            ],
        )
        print_list(
            "To be reviewed, back to the last good check",
            [f"{each['id']}: {each['statement']}" for each in answer["flagged"]],
        )
        print_list("Warnings", answer["warnings"])
    if not answer["in_control"]:
        raise typer.Exit(4)
