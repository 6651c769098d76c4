"""The command that says why results on reference materials are off."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, opened
from closedcup.app.cli.printing import (
    AsJson,
    console,
    print_facts,
    print_json,
    print_list,
    print_rows,
    write_file,
)

_PANEL = "Metrology"
_SHOWN = 5  # causes in the table; all are in the JSON


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(diagnose)


def diagnose(
    apparatus: Annotated[
        str | None,
        typer.Argument(help="Look at its verifications on record.", metavar="[APPARATUS]"),
    ] = None,
    file: Annotated[
        str | None,
        typer.Option(
            help="A CSV file: result_c, reference_c; where known date, pressure_kpa, "
            "correction_applied_c, heating_rate_c_per_min, days_since_calibration, lid, igniter, "
            "operator, lot, repeatability_c."
        ),
    ] = None,
    method: Annotated[str | None, typer.Option(help="The method that was used.")] = None,
    since: Annotated[
        str | None, typer.Option(help="From this verification on; all of them unless given.")
    ] = None,
    picture: Annotated[
        str | None, typer.Option(help="Draw the differences and the cause to this SVG file.")
    ] = None,
    simulate: Annotated[
        bool,
        typer.Option("--simulate", help="Try it on simulated histories instead: how often right?"),
    ] = False,
    histories: Annotated[
        int, typer.Option(min=1, max=5000, help="With --simulate: how many of each cause.")
    ] = 500,
    seed: Annotated[int, typer.Option(min=0, help="With --simulate: which random numbers.")] = 1,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Say why results on reference materials are off: causes ranked, with what confirms them."""
    from closedcup.app.usecases.diagnosis import diagnosing, reference_history
    from closedcup.app.usecases.methods.methods_on_record import methods_in_use
    from closedcup.errors import InputError

    if (apparatus is not None) + (file is not None) + simulate != 1:
        raise InputError(
            "diagnose-what",
            "A diagnosis needs one history.",
            where="diagnose",
            fix="Name an apparatus, or a file with --file, or say --simulate.",
        )
    if simulate:
        _simulate(method, histories, seed, as_json=as_json)
        return
    if file is not None:
        gathered = reference_history.gathered_from_file(file, method, methods_in_use())
    else:
        with opened(by) as laboratory:
            gathered = reference_history.gathered_on_record(
                laboratory, str(apparatus), method, since=since
            )
    answer = diagnosing.diagnosed(gathered)
    if picture is not None:
        from closedcup.app.usecases.diagnosis.diagnosis_picture import diagnosis_picture

        write_file(Path(picture), diagnosis_picture(answer).encode())
    if as_json:
        print_json(answer)
    else:
        _print_diagnosis(answer)


def _print_diagnosis(answer: dict[str, Any]) -> None:
    print_facts(
        "Why is it off?",
        [
            ("apparatus", answer["apparatus"]),
            ("method", answer["method"]),
            ("results", answer["results"]),
            ("mean difference", f"{answer['mean_difference_c']:+.2f} °C"),
            ("repeatability", f"{answer['repeatability_c']:.2f} °C"),
        ],
    )
    console.print(answer["conclusion"], markup=False)
    print_rows(
        [_row(one) for one in answer["causes"][:_SHOWN]],
        [
            ("cause", "cause"),
            ("probability", "probability"),
            ("effect", "effect (95 %)"),
            ("effect_in_r", "in r"),
            ("evidence", "evidence"),
        ],
    )
    confirm = answer["confirm_first"]
    if confirm is not None:
        print_facts(
            "To confirm",
            [
                ("do", confirm["test"]),
                ("confirmed when", confirm["confirmed_when"]),
                ("takes about", f"{confirm['minutes']} min"),
                ("CAUTION", confirm["caution"]),
                ("known", confirm["known"]),
            ],
        )
    print_list("Not examined", [f"{cause}: {why}" for cause, why in answer["not_examined"].items()])
    if answer["pressure_signs"]:
        print_list("What a pressure error does here", [answer["pressure_signs"]])
    print_list("Warnings", answer["warnings"])
    print_list(
        "Symptoms at the bench (common practice)",
        [
            f"{one['symptom']}: {one['likely_cause']} → {one['first_action']}"
            for one in answer["symptoms"]
        ],
    )


def _row(one: dict[str, Any]) -> dict[str, str]:
    return {
        "cause": one["cause"] + (f" ({one['at']})" if one["at"] else ""),
        "probability": "< 0.1%" if one["probability"] < 0.001 else f"{one['probability']:.1%}",
        "effect": f"{one['effect_c']:+.2f} °C ({one['low_c']:+.2f} to {one['high_c']:+.2f})",
        "effect_in_r": f"{one['effect_in_r']:+.1f}",
        "evidence": one["evidence"],
    }


def _simulate(method: str | None, histories: int, seed: int, *, as_json: bool) -> None:
    from closedcup.app.usecases.diagnosis.trying_diagnosis import tried
    from closedcup.app.usecases.methods.methods_on_record import methods_in_use

    answer = tried(methods_in_use(), method_id=method, histories=histories, seed=seed)
    if as_json:
        print_json(answer)
        return
    print_facts(
        f"{answer['histories']} simulated histories of each, {answer['results']} results each",
        [
            ("method", answer["method"]),
            ("reference materials", ", ".join(f"{one:g} °C" for one in answer["reference_c"])),
            ("r there", ", ".join(f"{one:.2f} °C" for one in answer["repeatability_c"])),
            ("rounded to", f"{answer['rounding_c']:g} °C"),
            ("false alarms on clean histories", f"{1 - answer['clean']['right']:.1%}"),
        ],
    )
    for effect in answer["effects"]:
        _print_matrix(effect, answer["clean"])


def _print_matrix(effect: dict[str, Any], clean: dict[str, Any]) -> None:
    """Print a row for each cause simulated, a column for each named first; numbers name columns."""
    rows = [clean, *effect["rows"]]
    names = [row["simulated"] for row in rows]
    title = f"Effects of {effect['effect_in_r']:g} r: simulated below, named first across"
    console.print(title, style="bold", markup=False)
    heads = "".join(f"{number:>5}" for number in range(len(names)))
    console.print(f"{'':27}{heads}   right  right first  two named", markup=False)
    for number, row in enumerate(rows):
        counts = "".join(f"{row['named_first'].get(name, 0) or '·':>5}" for name in names)
        shares = f"{row['right']:>7.1%}{row['right_first']:>11.1%}{row['named_two']:>10.1%}"
        console.print(f"{number:>2} {row['simulated']:24}{counts} {shares}", markup=False)
