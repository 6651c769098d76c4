"""Commands that work out an uncertainty, and put one on record for the budgets of results."""

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
    application.command(rich_help_panel=_PANEL)(uncertainty)
    application.command("state-uncertainty", rich_help_panel=_PANEL)(state_uncertainty)


def uncertainty(
    what: Annotated[
        str, typer.Argument(help="A budget in a TOML file, or the id of a result on record.")
    ],
    probe: Annotated[
        str | None, typer.Option(help="Standard uncertainty of the probe's correction: “0.1 degC”.")
    ] = None,
    probe_calibration: Annotated[
        str | None,
        typer.Option(help="CSV of the probe's calibration instead: reading_c, correction_c."),
    ] = None,
    barometer: Annotated[
        str | None, typer.Option(help="The barometer reads within ± this: “0.1 kPa”.")
    ] = None,
    slope: Annotated[
        str | None, typer.Option(help="The correction is within ± this for 1 kPa: “0.05 degC”.")
    ] = None,
    operator: Annotated[
        str | None, typer.Option(help="Standard deviation between operators: “0.3 degC”.")
    ] = None,
    volume: Annotated[
        str | None, typer.Option(help="Standard uncertainty from specimen volume: “0.1 degC”.")
    ] = None,
    trials: Annotated[
        int, typer.Option(min=10_000, max=20_000_000, help="Of Monte Carlo.")
    ] = 1_000_000,
    seed: Annotated[int, typer.Option(help="The same seed gives the same trials.")] = 1,
    picture: Annotated[
        str | None, typer.Option(help="Draw the contributions to this SVG file.")
    ] = None,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Work out an uncertainty from a budget and from what is seen, side by side."""
    from closedcup.app.usecases.uncertainty import result_budget
    from closedcup.app.usecases.uncertainty.uncertainty import budget_of_file, worked_out
    from closedcup.quantities import parse_difference, parse_pressure_difference

    def difference(text: str | None, where: str) -> float | None:
        return None if text is None else parse_difference(text, where=where).c

    if what.endswith(".toml"):
        budget = budget_of_file(what)
    else:
        given = result_budget.Given(
            probe_c=difference(probe, "probe"),
            probe_calibration=None
            if probe_calibration is None
            else result_budget.calibration_from_file(probe_calibration),
            barometer_kpa=None
            if barometer is None
            else parse_pressure_difference(barometer, where="barometer").kpa,
            slope_c_per_kpa=difference(slope, "slope"),
            operator_c=difference(operator, "operator"),
            volume_c=difference(volume, "volume"),
        )
        with opened(by) as laboratory:
            budget = result_budget.budget_of_result(laboratory, what, given)
    answer = worked_out(budget, trials=trials, seed=seed)
    if picture is not None:
        from closedcup.app.usecases.charts.chart_picture import contributions_picture

        write_file(Path(picture), contributions_picture(answer).encode())
    if as_json:
        print_json(answer)
    else:
        _print_uncertainty(answer)


def _print_uncertainty(answer: dict[str, Any]) -> None:
    drawn = answer["monte_carlo"]
    freedom = answer["degrees_of_freedom"]
    print_facts(
        answer["title"],
        [
            ("result", answer["text"]),
            ("model", answer["model"]),
            ("standard uncertainty", f"{answer['standard_uncertainty']:.4g} {answer['unit']}"),
            ("effective degrees of freedom", "∞" if freedom is None else f"{freedom:.1f}"),
            (
                "Monte Carlo",
                f"u = {drawn['standard_uncertainty']:.4g}, {drawn['trials']} trials",
            ),
            ("95 % interval", f"{answer['interval_text']} {answer['unit']}"),
            (
                "the two agree",
                "yes" if drawn["agrees"] else "NO: the Monte Carlo interval is the better one",
            ),
        ],
    )
    print_rows(
        [
            {
                **one,
                "u": f"{one['standard_uncertainty']:.3g}",
                "c": f"{one['sensitivity']:.3g}",
                "part": f"{abs(one['contribution']):.3g}",
                "share": f"{one['share']:.0%}",
            }
            for one in sorted(answer["inputs"], key=lambda one: -abs(one["contribution"]))
        ],
        [
            ("name", "input"),
            ("u", "u"),
            ("distribution", "distribution"),
            ("c", "sensitivity"),
            ("part", "contribution"),
            ("share", "share"),
        ],
    )
    print_list(
        "Correlated",
        [
            f"{' and '.join(one['between'])}: {one['coefficient']:+g}"
            for one in answer["correlations"]
        ],
    )
    print_list(
        "Seen from above",
        [
            f"u = {one['standard_uncertainty']:.3g} from {one['what']}. {one['reconciled']}"
            for one in answer["from_above"]
        ],
    )
    print_list("Not in the budget", answer["missing"])
    print_list("Notes", answer["notes"])


def state_uncertainty(
    source: Annotated[
        str | None, typer.Argument(help="barometer, slope, probe, operator or volume.")
    ] = None,
    amount: Annotated[
        str, typer.Argument(help="“0.1 kPa” of the barometer, else “0.2 degC” (slope: for 1 kPa).")
    ] = "",
    basis: Annotated[str, typer.Option(help="What it rests on: a certificate, a study.")] = "",
    shape: Annotated[str, typer.Option(help="standard or half-width.")] = "standard",
    freedom: Annotated[int | None, typer.Option(help="Degrees of freedom, if few.")] = None,
    apparatus: Annotated[str, typer.Option(help="Of this apparatus; else of all.")] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Put an uncertainty on record for the budgets of results; alone, list what is."""
    from closedcup.app.usecases.uncertainty import stating

    with opened(by) as laboratory:
        if source is not None:
            stating.state_uncertainty(
                laboratory,
                source,
                amount,
                basis,
                shape=shape,
                degrees_of_freedom=freedom,
                apparatus_id=apparatus,
                key=key,
            )
        listed = stating.stated(laboratory)
    if as_json:
        print_json(listed)
        return
    print_rows(
        [{**one, "amount": f"{one['value']:g} {one['unit']}"} for one in listed],
        [
            ("source", "source"),
            ("apparatus", "apparatus"),
            ("amount", "amount"),
            ("shape", "shape"),
            ("degrees_of_freedom", "freedom"),
            ("basis", "basis"),
        ],
    )
