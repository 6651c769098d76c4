"""Commands for proficiency rounds: record a result, show the scores over time."""

from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import (
    AsJson,
    print_facts,
    print_json,
    print_list,
    print_rows,
    write_file,
)

_PANEL = "Metrology"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command("proficiency", rich_help_panel=_PANEL)(show)
    application.command("proficiency-result", rich_help_panel=_PANEL)(record)


def record(
    round_name: Annotated[str, typer.Argument(metavar="ROUND", help="As its report names it.")],
    on: Annotated[str, typer.Option(help="When the round was held: 2026-03-02.")],
    method: Annotated[str, typer.Option(help="The method that was used.")],
    result: Annotated[
        str | None, typer.Option(help="What was sent, corrected: “61.5 degC”.")
    ] = None,
    assigned: Annotated[str | None, typer.Option(help="The assigned value: “61.0 degC”.")] = None,
    deviation: Annotated[
        str | None, typer.Option(help="σ for proficiency assessment: “0.9 degC”.")
    ] = None,
    uncertainty: Annotated[
        str | None, typer.Option(help="Standard uncertainty of what was sent: “0.5 degC”.")
    ] = None,
    assigned_uncertainty: Annotated[
        str | None, typer.Option(help="Standard uncertainty of the assigned value.")
    ] = None,
    file: Annotated[
        str | None,
        typer.Option(help="The round's table, as for `interlaboratory`, instead of the values."),
    ] = None,
    site: Annotated[str, typer.Option(help="With --file: this laboratory's name in it.")] = "",
    provider: Annotated[str, typer.Option(help="Who ran the round.")] = "",
    material: Annotated[str, typer.Option(help="What was tested.")] = "",
    person: Annotated[str, typer.Option(help="Who tested (an id).")] = "",
    apparatus: Annotated[str, typer.Option(help="On which apparatus.")] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Score a result of a proficiency round, put it on record; exit 4 when it asks for action."""
    from closedcup.app.usecases.uncertainty import proficiency
    from closedcup.app.usecases.uncertainty.proficiency import Sent
    from closedcup.errors import InputError
    from closedcup.quantities import parse_difference, parse_temperature

    def difference(text: str | None, where: str) -> Decimal | None:
        return None if text is None else Decimal(repr(parse_difference(text, where=where).c))

    scale = difference(deviation, "deviation")
    of_assigned: Decimal | None
    if file is not None:
        material, *numbers = _in_table(file, site, material, method, scale)
        sent_c, assigned_c, of_assigned, scale = numbers
    elif result is None or assigned is None or scale is None:
        raise InputError(
            "values-missing",
            "A score needs the result, the assigned value and σ.",
            where="round",
            fix="Give --result, --assigned and --deviation, or --file with --site.",
        )
    else:
        sent_c = Decimal(repr(parse_temperature(result, where="result").c))
        assigned_c = Decimal(repr(parse_temperature(assigned, where="assigned").c))
        of_assigned = difference(assigned_uncertainty, "assigned-uncertainty")
    sent = Sent(
        round=round_name,
        held_on=on,
        method=method,
        result_c=sent_c,
        assigned_c=assigned_c,
        deviation_c=scale,
        provider=provider,
        material=material,
        person=person,
        apparatus=apparatus,
        result_uncertainty_c=difference(uncertainty, "uncertainty"),
        assigned_uncertainty_c=of_assigned,
    )
    with opened(by) as laboratory:
        answer = proficiency.record_result(laboratory, sent, key=key)
    if as_json:
        print_json(answer)
    else:
        _print_result(answer)
    if answer["standing"] == "action":
        raise typer.Exit(4)


def _in_table(
    file: str, site: str, material: str, method: str, deviation_c: Decimal | None
) -> tuple[str, Decimal, Decimal, Decimal, Decimal]:
    from closedcup.app.usecases.uncertainty.proficiency import scored_in_round
    from closedcup.app.usecases.uncertainty.round_among_sites import evaluate_round

    answer = evaluate_round(
        file,
        method_id=method,
        deviation_c=None if deviation_c is None else float(deviation_c),
    )
    return scored_in_round(answer, site, material or None)


def _print_result(answer: dict[str, Any]) -> None:
    scores = [("z", answer["z"]), ("z′", answer["z_prime"]), ("ζ", answer["zeta"])]
    scores.append(("Eₙ", answer["en"]))
    print_facts(
        f"{answer['id']}: round {answer['round']}",
        [
            ("difference", f"{answer['difference_c']:+.2f} °C"),
            *((name, f"{value:+.2f}") for name, value in scores if value is not None),
            ("judged by", answer["judged_by"]),
            ("standing", answer["standing"]),
        ],
    )


def show(
    person: Annotated[str | None, typer.Option(help="Of this person (an id).")] = None,
    method: Annotated[str | None, typer.Option(help="By this method.")] = None,
    picture: Annotated[
        str | None, typer.Option(help="Draw the scores over time to this SVG file.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show the scores of proficiency rounds over time, of the laboratory and of people."""
    from closedcup.app.usecases.uncertainty import proficiency

    with opened() as laboratory:
        answer = proficiency.history(laboratory, person=person, method_id=method)
    if picture is not None:
        from closedcup.app.usecases.charts.chart_picture import scores_picture

        write_file(Path(picture), scores_picture(answer).encode())
    if as_json:
        print_json(answer)
        return
    print_rows(
        [
            {
                **one,
                "off": f"{one['difference_c']:+.2f}",
                **{
                    name: None if one[name] is None else f"{one[name]:+.2f}"
                    for name in ("zeta", "en")
                },
                "judged": f"{one['judged_by']} {one['score']:+.2f}",
            }
            for one in answer["results"]
        ],
        [
            ("id", "id"),
            ("held_on", "held on"),
            ("round", "round"),
            ("person", "who"),
            ("off", "off, °C"),
            ("judged", "score"),
            ("zeta", "ζ"),
            ("en", "Eₙ"),
            ("standing", "standing"),
        ],
    )
    for who, together in [("the laboratory", answer["laboratory"])] + [
        (one["name"], one) for one in answer["people"]
    ]:
        if together["count"]:
            counted = ", ".join(
                f"{together[name]} {name}" for name in ("satisfactory", "questionable", "action")
            )
            print_facts(
                f"Of {who}",
                [
                    ("results", f"{together['count']}: {counted}"),
                    ("mean score", f"{together['mean_score']:+.2f}"),
                    ("Σz/√n", f"{together['rescaled_sum']:+.2f}"),
                ],
            )
            print_list("Warnings", together["warnings"])
