"""The command that tests a few results for outliers."""

from typing import Annotated

import typer

from closedcup.app.cli.printing import AsJson, degrees, print_facts, print_json, print_rows

_PANEL = "Metrology"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command("outliers", rich_help_panel=_PANEL)(look_for_outliers)


def look_for_outliers(
    value: Annotated[
        list[str] | None, typer.Option(help="A result; once for each: “60.5 degC”.")
    ] = None,
    file: Annotated[
        str | None, typer.Option(help="A CSV file instead, with the column result_c.")
    ] = None,
    resolution: Annotated[
        str | None, typer.Option(help="What results are read to: “0.1 degC”.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Test results for outliers by Grubbs, Dixon, and several at once; exit 4 when there is one."""
    from closedcup.app.usecases.charts import control_history
    from closedcup.app.usecases.uncertainty.outlying import outliers
    from closedcup.errors import InputError
    from closedcup.quantities import parse_difference, parse_temperature

    if (value is None) == (file is None):
        raise InputError(
            "results-missing",
            "The test needs one source of results.",
            where="outliers",
            fix="Give --value once for each result, or --file.",
        )
    step_c = None if resolution is None else parse_difference(resolution, where="resolution").c
    if file is not None:
        history = control_history.history_from_file(file, step_c)
    else:
        typed = [parse_temperature(text, where="value") for text in value or ()]
        history = control_history.typed_history(typed, step_c)
    answer = outliers(history)
    if as_json:
        print_json(answer)
    else:
        print_facts(
            f"{answer['results']} results",
            [
                ("mean", degrees(answer["mean_c"], 2)),
                ("standard deviation", degrees(answer["deviation_c"], 3)),
                ("note", answer["note"]),
            ],
        )
        print_rows(
            [
                {
                    **one,
                    "value": degrees(one["value_c"], 2),
                    "compared": f"{one['statistic']:.3f} against "
                    + (f"{one['critical_5_percent']:.3f} and " if one["test"] != "several" else "")
                    + f"{one['critical_1_percent']:.3f}",
                }
                for one in (
                    *answer["tests"],
                    *(
                        {"test": "several", "standing": "outlier", **each}
                        for each in answer["several"]
                    ),
                )
            ],
            [
                ("test", "test"),
                ("number", "result"),
                ("value", "value"),
                ("compared", "statistic"),
                ("standing", "standing"),
            ],
        )
    if answer["outlier"]:
        raise typer.Exit(4)
