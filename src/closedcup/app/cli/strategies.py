"""Commands that plan: strategies of searching compared."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.printing import (
    AsJson,
    print_facts,
    print_json,
    print_list,
    print_rows,
    write_file,
)

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(simulate)


def simulate(
    spread: Annotated[
        str, typer.Option(help="Standard deviation of estimates: “3 degC”, “5.4 degF”.")
    ],
    step: Annotated[str, typer.Option(help="Last step: “1 degC” or “0.5 degC”.")],
    scatter: Annotated[
        str | None,
        typer.Option(help="Scatter of the specimens; from d3828-b's repeatability unless given."),
    ] = None,
    lapse: Annotated[
        float,
        typer.Option(min=0, help="Share of observations that are wrong, whatever the cup shows."),
    ] = 0.0,
    heats: Annotated[str | None, typer.Option(help="Heating in a minute: “10 degC”.")] = None,
    cools: Annotated[str | None, typer.Option(help="Cooling in a minute: “2 degC”.")] = None,
    samples: Annotated[int, typer.Option(help="How many simulated samples.")] = 4000,
    seed: Annotated[int, typer.Option(min=0, help="The same seed gives the same answer.")] = 1,
    picture: Annotated[str | None, typer.Option(help="Draw the strategies to this file.")] = None,
    as_json: AsJson = False,
) -> None:
    """Compare strategies of searching a flash point on simulated samples."""
    from closedcup.app.usecases.planning.simulating import simulated_strategies, strategies_picture
    from closedcup.quantities import parse_difference

    def difference(text: str | None, where: str) -> Any:
        return None if text is None else parse_difference(text, where=where)

    wishes = {
        "spread": parse_difference(spread, where="spread"),
        "step": parse_difference(step, where="step"),
        "scatter": difference(scatter, "scatter"),
        "heats": difference(heats, "heats"),
        "cools": difference(cools, "cools"),
    }
    if as_json:
        answer = simulated_strategies(**wishes, lapse=lapse, samples=samples, seed=seed)
    else:
        answer = _with_progress(
            samples,
            lambda tell: simulated_strategies(
                **wishes, lapse=lapse, samples=samples, seed=seed, on_block=tell
            ),
        )
    if picture is not None:
        write_file(Path(picture), strategies_picture(answer).encode())
    if as_json:
        print_json(answer)
    else:
        _print_strategies(answer)


def _with_progress(
    samples: int, run: Callable[[Callable[[int], None]], dict[str, Any]]
) -> dict[str, Any]:
    """Run with a progress bar on the error stream, so that the answer can be piped."""
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("simulated samples", total=samples)
        return run(lambda done: progress.update(task, completed=done))


def _print_strategies(answer: dict[str, Any]) -> None:
    print_facts(
        "Strategies on simulated samples",
        [
            ("estimates spread by", f"{answer['spread_c']:g} °C"),
            ("last step", f"{answer['step_c']:g} °C"),
            ("specimens scatter by", f"{answer['scatter_c']:.3f} °C"),
            ("wrong observations", f"{answer['lapse']:.1%}"),
            ("samples", f"{answer['samples']} (seed {answer['seed']})"),
            (
                "best possible",
                f"{answer['best_possible_specimens']:.2f} specimens, were no answer misleading",
            ),
        ],
    )
    print_rows(
        [
            {
                "name": one["name"],
                "mean": f"{one['mean_specimens']:.2f}",
                "p95": f"{one['p95_specimens']:.0f}",
                "bound": f"{one['bound_specimens']:.2f}",
                "minutes": f"{one['mean_minutes']:.1f}",
                "overshoots": f"{one['overshoots']:.3f}",
                "wrong": f"{one['wrong_share']:.2%}",
                "same": f"{one['same_as_written_share']:.1%}",
            }
            for one in answer["strategies"]
        ],
        [
            ("name", "strategy"),
            ("mean", "specimens"),
            ("p95", "95 %"),
            ("bound", "bound"),
            ("minutes", "minutes"),
            ("overshoots", "over"),
            ("wrong", "wrong"),
            ("same", "same"),
        ],
    )
    print_list(
        "Note",
        [
            "Specimens: the mean, what 95 % of the samples need, and what no search can beat.",
            "Over: specimens more than 5 °C above the flash point, a sample.",
            "Same: samples with the value of the search as written from the estimate.",
            "Planned start: comes to the value as written; the cheapest one not always.",
            "Screening finds no result of a method: where a value is needed, follow the method.",
        ],
    )
