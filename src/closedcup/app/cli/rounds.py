"""The command that evaluates a round among sites."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_json,
    print_list,
    print_rows,
    write_file,
)

_PANEL = "Metrology"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command("interlaboratory", rich_help_panel=_PANEL)(evaluate)


def evaluate(
    file: Annotated[
        str,
        typer.Argument(
            help="CSV: site, material, result_c; method and uncertainty_c where wanted."
        ),
    ],
    leave_out: Annotated[
        list[str] | None,
        typer.Option(help="SITE=reason or SITE:MATERIAL=reason: results kept out of r and R."),
    ] = None,
    robust: Annotated[
        str, typer.Option(help="Assigned values by algorithm-a or q-hampel.")
    ] = "algorithm-a",
    deviation: Annotated[
        str | None, typer.Option(help="σ for the scores: “0.9 degC”; the robust s unless given.")
    ] = None,
    method: Annotated[
        str | None, typer.Option(help="Compare with this method's own r and R.")
    ] = None,
    picture: Annotated[
        str | None, typer.Option(help="Draw h and k of all sites to this SVG file.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Evaluate a round among sites: r and R, outliers, scores."""
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.app.usecases.uncertainty.round_among_sites import evaluate_round, typed_left_out
    from closedcup.quantities import parse_difference

    answer = evaluate_round(
        file,
        left_out=[typed_left_out(text) for text in leave_out or ()],
        estimate=robust,
        deviation_c=None if deviation is None else parse_difference(deviation, where="deviation").c,
        method_id=method,
        lookup=method_in_use,
    )
    if picture is not None:
        from closedcup.app.usecases.charts.chart_picture import round_picture

        write_file(Path(picture), round_picture(answer).encode())
    if as_json:
        print_json(answer)
    else:
        _print_round(answer)


def _print_round(answer: dict[str, Any]) -> None:
    print_rows(
        [
            {
                "material": one["material"],
                "sites": len(one["sites"]),
                "mean": degrees(one["mean_c"], 2),
                "r": degrees(one["repeatability_c"], 2) or "no repeats",
                "R": degrees(one["reproducibility_c"], 2),
            }
            for one in answer["materials"]
        ],
        [("material", "material"), ("sites", "sites"), ("mean", "mean"), ("r", "r"), ("R", "R")],
    )
    print_list(
        "Suspect",
        [
            f"{one['material']}: {test['of']} of {test['site']} is a"
            f"{'n' if test['standing'] == 'outlier' else ''} {test['standing']} "
            f"({test['test']} {test['statistic']:.3f} against {test['critical_5_percent']:.3f} "
            f"and {test['critical_1_percent']:.3f})"
            for one in answer["materials"]
            for test in one["tests"]
            if test["standing"] != "not suspect"
        ],
    )
    print_rows(
        [
            {
                **entry,
                "mean": degrees(entry["mean_c"], 2),
                "score": f"{entry['z' if entry['judged_by'] == 'z' else 'z_prime']:+.2f}",
            }
            for entry in answer["scores"]
        ],
        [
            ("material", "material"),
            ("site", "site"),
            ("mean", "mean"),
            ("judged_by", "score"),
            ("score", ""),
            ("standing", "standing"),
        ],
    )
    print_list(
        "Left out",
        [f"{one['site']} {one['material'] or ''}: {one['reason']}" for one in answer["left_out"]],
    )
