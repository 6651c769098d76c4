"""Charts of twenty years of ten apparatus, and a million trials of a budget."""

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.charts.charting import Wishes, charted
from closedcup.app.usecases.charts.control_history import History
from closedcup.metrology import (
    Input,
    chart_cusum,
    chart_ewma,
    chart_individuals,
    propagate,
    series_of,
    simulate,
    within,
)

DAYS = 20 * 365
APPARATUS = 10


def _timed(what: str, work: Callable[[], object]) -> None:
    begin = time.perf_counter()
    work()
    print(f"{what:<58} {time.perf_counter() - begin:8.3f} s")


def _charts(histories: NDArray[np.float64], resolution: float) -> None:
    for history in histories:
        chart_individuals(series_of(history, resolution=resolution))


def _answers(histories: NDArray[np.float64], how: str, resolution: float) -> None:
    """Time what a command or a page answers, every point with its signals."""
    read = [
        History(
            values=tuple(one.tolist()),
            resolutions=(resolution,) * DAYS,
            labels=tuple(map(str, range(1, DAYS + 1))),
            causes=("",) * DAYS,
            unit="°C",
            what="results",
        )
        for one in histories
    ]
    _timed(
        f"10 × 20 years of daily results, as answered, {how}",
        lambda: [charted(one, Wishes()) for one in read],
    )


def main() -> None:
    generator = np.random.default_rng(1)
    fine = generator.normal(0, 0.5, (APPARATUS, DAYS)).round(2)
    coarse = generator.normal(0, 0.5, (APPARATUS, DAYS)).round(0)
    _timed("one history, with what is loaded at first use", lambda: _charts(coarse[:1], 1.0))
    _timed("10 × 20 years of daily results, single results, fine", lambda: _charts(fine, 0.01))
    _timed("10 × 20 years of daily results, single results, coarse", lambda: _charts(coarse, 1.0))
    _answers(fine, "fine", 0.01)
    _answers(coarse, "coarse", 1.0)
    _timed(
        "10 × 20 years, moving averages",
        lambda: [chart_ewma(series_of(one), weight=0.4) for one in fine],
    )
    _timed("10 × 20 years, cumulative sums", lambda: [chart_cusum(series_of(one)) for one in fine])
    inputs = [
        Input("cup", 60.0, 0.0),
        within("pressure", 95.0, 0.1),
        within("slope", 0.25, 0.05),
        Input("probe", 0.1, 0.1, degrees_of_freedom=9),
        within("step", 0.0, 0.25),
        Input("repeatability", 0.0, 0.5),
        Input("operator", 0.0, 0.2, degrees_of_freedom=4),
        Input("reference", 0.0, 0.3),
        Input("volume", 0.0, 0.1),
    ]

    def model(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return x[0] + x[2] * (101.3 - x[1]) + x[3:].sum(axis=0)

    _timed("budget of nine inputs, law of propagation", lambda: propagate(model, inputs))
    _timed("budget of nine inputs, 10⁶ Monte Carlo trials", lambda: simulate(model, inputs))


if __name__ == "__main__":
    main()
