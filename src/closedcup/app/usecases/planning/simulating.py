"""Compare search strategies on simulated samples; nothing of it is a result of a method."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from closedcup.app.usecases.methods.citing import in_words
from closedcup.methods import method, precision_at
from closedcup.planning.observing import Observing, scatter_from_repeatability
from closedcup.planning.pace import Pace, pace_numbers, usual_pace, usual_weights
from closedcup.planning.simulation import Setting, best_possible_specimens, simulate
from closedcup.quantities import TemperatureDifference
from closedcup.reports.drawing import svg
from closedcup.reports.strategy_chart import StrategyBar, strategy_chart

Answer = dict[str, Any]

# Where no scatter is given it comes from this method's repeatability at this flash point.
_SCATTER_METHOD, _SCATTER_AT_C = "d3828-b", 60.0


def simulated_strategies(
    *,
    spread: TemperatureDifference,
    step: TemperatureDifference,
    scatter: TemperatureDifference | None = None,
    lapse: float = 0.0,
    heats: TemperatureDifference | None = None,
    cools: TemperatureDifference | None = None,
    samples: int = 4000,
    seed: int = 1,
    on_block: Callable[[int], None] | None = None,
) -> Answer:
    """Return how each strategy fares on the same samples.

    spread: standard deviation of the flash points around their estimates. heats, cools: a minute.
    on_block is told how many samples are done.
    """
    found = precision_at(method(_SCATTER_METHOD), _SCATTER_AT_C)
    scatter_c = (
        scatter_from_repeatability(found.repeatability_c, step.c) if scatter is None else scatter.c
    )
    model = Observing(scatter_c, lapse)
    setting = Setting(
        spread_c=spread.c,
        step_c=step.c,
        model=model,
        pace=_pace(heats, cools),
        weights=usual_weights(),
        samples=samples,
        seed=seed,
    )
    made = simulate(setting, on_block)
    return {
        "spread_c": spread.c,
        "step_c": step.c,
        "scatter_c": model.scatter_c,
        "lapse": model.lapse,
        "samples": samples,
        "seed": seed,
        "heats_c_per_min": setting.pace.heats_c_per_min,
        "cools_c_per_min": setting.pace.cools_c_per_min,
        "best_possible_specimens": best_possible_specimens(setting),
        "strategies": [asdict(one) for one in made],
        "sources": [
            *(in_words(found.sources()[:1]) if scatter is None else ()),
            *(cited.as_json(name) for name, cited in pace_numbers().items()),
        ],
    }


def strategies_picture(answer: Answer) -> str:
    """Return the SVG of simulated strategies."""
    bars = [
        StrategyBar(
            name=one["name"],
            is_screening=one["mode"] == "screening",
            mean_specimens=one["mean_specimens"],
            p95_specimens=one["p95_specimens"],
            bound_specimens=one["bound_specimens"],
            words=(
                f"{one['mean_specimens']:.2f} specimens, {one['mean_minutes']:.0f} min, "
                f"{one['overshoots']:.2f} overshoots, {one['wrong_share']:.1%} wrong"
            ),
        )
        for one in answer["strategies"]
    ]
    title = (
        f"Spread {answer['spread_c']:g} °C, step {answer['step_c']:g} °C, scatter "
        f"{answer['scatter_c']:.2g} °C: {answer['samples']} simulated samples"
    )
    return svg(strategy_chart(bars, title=title))


def _pace(heats: TemperatureDifference | None, cools: TemperatureDifference | None) -> Pace:
    usual = usual_pace()
    return Pace(
        heats_c_per_min=usual.heats_c_per_min if heats is None else heats.c,
        cools_c_per_min=usual.cools_c_per_min if cools is None else cools.c,
        cleaning_min=usual.cleaning_min,
        loading_min=usual.loading_min,
        dwell_min=usual.dwell_min,
        at_cup_c=usual.at_cup_c,
    )
