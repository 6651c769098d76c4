"""Commands that keep an eye on the apparatus: control charts."""

from dataclasses import asdict
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
    application.command(rich_help_panel=_PANEL)(chart)
    application.command("assign-cause", rich_help_panel=_PANEL)(assign_cause)
    application.command("decide-limits", rich_help_panel=_PANEL)(decide_limits)


def chart(
    apparatus: Annotated[
        str | None, typer.Argument(help="Chart its verifications on record.", metavar="[APPARATUS]")
    ] = None,
    value: Annotated[
        list[str] | None, typer.Option(help="A result; once for each: “60.5 degC”.")
    ] = None,
    file: Annotated[
        str | None,
        typer.Option(
            help="A CSV file: result_c (or low_c, high_c), and reference_c, expected_sd_c, method, "
            "material, subgroup, date or label, cause where wanted."
        ),
    ] = None,
    method: Annotated[
        str | None, typer.Option(help="Of the verifications, those for this method.")
    ] = None,
    kind: Annotated[
        str, typer.Option(help="individuals, ewma, cusum, means-ranges or means-deviations.")
    ] = "individuals",
    rules: Annotated[
        str | None,
        typer.Option(help="Run rules by number: “WE1,WE4,N3”, or none. WE1 to WE4 unless given."),
    ] = None,
    base: Annotated[
        int | None, typer.Option(min=5, help="How many of the first results give the limits.")
    ] = None,
    centre: Annotated[str | None, typer.Option(help="Centre as decided on: “0 degC”.")] = None,
    sigma: Annotated[
        str | None, typer.Option(help="Standard deviation as decided on: “0.4 degC”.")
    ] = None,
    resolution: Annotated[
        str | None, typer.Option(help="What results are read to: “0.5 degC”.")
    ] = None,
    weight: Annotated[float, typer.Option(help="ewma: weight of a new result.")] = 0.4,
    start: Annotated[str | None, typer.Option(help="ewma: where the average begins.")] = None,
    allowance: Annotated[str | None, typer.Option(help="cusum: k, half of s unless given.")] = None,
    interval: Annotated[
        str | None, typer.Option(help="cusum: decision interval h, 5 s unless given.")
    ] = None,
    picture: Annotated[str | None, typer.Option(help="Draw the chart to this SVG file.")] = None,
    spread_picture: Annotated[
        str | None, typer.Option(help="Draw its moving ranges (or R, S) to this SVG file.")
    ] = None,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Chart results and say whether they are in control; exit 4 when not."""
    from closedcup.app.usecases.charts import chart_picture, charting, control_history
    from closedcup.errors import InputError
    from closedcup.quantities import parse_difference, parse_temperature

    if sum(source is not None for source in (apparatus, value, file)) != 1:
        raise InputError(
            "chart-of-what",
            "A chart needs one source of results.",
            where="chart",
            fix="An apparatus, or --file, or --value once for each result.",
        )

    def difference(text: str | None, where: str) -> float | None:
        return None if text is None else parse_difference(text, where=where).c

    step_c = difference(resolution, "resolution")
    if file is not None:
        history = control_history.history_from_file(file, step_c)
    elif value is not None:
        typed = [parse_temperature(text, where="value") for text in value]
        history = control_history.typed_history(typed, step_c)
    else:
        with opened(by) as laboratory:
            history = control_history.history_on_record(laboratory, str(apparatus), method)
    wishes = charting.Wishes(
        kind=kind,
        rules=charting.typed_rules(rules),
        base=base,
        centre=difference(centre, "centre"),
        sigma=difference(sigma, "sigma"),
        start=difference(start, "start"),
        weight=weight,
        allowance=difference(allowance, "allowance"),
        interval=difference(interval, "interval"),
    )
    answer = charting.charted(history, wishes)
    if picture is not None:
        write_file(Path(picture), chart_picture.chart_picture(answer).encode())
    if spread_picture is not None:
        drawn = chart_picture.spread_picture(answer)
        if not drawn:
            raise InputError(
                "no-spread-chart",
                f"A chart of kind {kind} has no chart of spread.",
                where="spread-picture",
                fix="Draw it with --kind individuals.",
            )
        write_file(Path(spread_picture), drawn.encode())
    if as_json:
        print_json(answer)
    else:
        _print_chart(answer)
    if not answer["in_control"]:
        raise typer.Exit(4)


def assign_cause(
    verification: Annotated[str, typer.Argument(help="The verification, as the chart names it.")],
    cause: Annotated[str, typer.Option(help="Why it came out as it did.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record the cause of a verification: it stays on the chart, but out of the limits."""
    from closedcup.app.usecases.charts import chart_decisions

    with opened(by) as laboratory:
        assigned = chart_decisions.assign_cause(laboratory, verification, cause, key=key)
    if as_json:
        print_json(asdict(assigned))
    else:
        print_facts("Cause assigned", [("verification", verification), ("cause", assigned.cause)])


def decide_limits(
    apparatus: Annotated[str, typer.Argument(help="Whose chart.")],
    reason: Annotated[str, typer.Option(help="Why these limits, from now on.")],
    method: Annotated[str | None, typer.Option(help="For this method.")] = None,
    since: Annotated[
        str | None, typer.Option(help="From this verification on; all of them unless given.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Fix a chart's limits from its verifications; they stay until the next decision."""
    from closedcup.app.usecases.charts import chart_decisions

    with opened(by) as laboratory:
        decided = chart_decisions.decide_limits(
            laboratory, apparatus, reason, method_id=method, since=since, key=key
        )
    if as_json:
        print_json(asdict(decided))
    else:
        print_facts("Limits decided", list(asdict(decided).items()))


def _print_chart(answer: dict[str, Any]) -> None:
    hits = answer["rule_hits"].items()
    print_facts(
        f"Control chart ({answer['kind']}) of {answer['what']}, {answer['unit']}",
        [
            ("in control", "yes" if answer["in_control"] else "NO"),
            ("centre", f"{answer['centre']:.3f}"),
            ("limits", f"{answer['lower']:.3f} to {answer['upper']:.3f}"),
            ("from", f"{answer['limits_from']} (base: {answer['base']})"),
            *((rule, f"point {', '.join(str(one) for one in at)}") for rule, at in hits),
        ],
    )
    spoken_of = [point for point in answer["points"] if point["signal"] or point["cause"]]
    if spoken_of:
        print_rows(
            [
                {**point, "value": f"{point['value']:.3f}", "signal": ", ".join(point["signal"])}
                for point in spoken_of
            ],
            [
                ("number", "point"),
                ("label", "label"),
                ("value", "value"),
                ("signal", "signal"),
                ("cause", "assigned cause"),
            ],
        )
    print_list("Warnings", answer["warnings"])
