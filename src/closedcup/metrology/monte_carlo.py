"""Propagation of distributions by Monte Carlo (JCGM 101)."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from closedcup.errors import Refused
from closedcup.metrology.correlations import bound_groups, checked_correlation, draw_bound
from closedcup.metrology.inputs import Input, Model, estimates

Floats = NDArray[np.float64]

_BLOCK = 100_000  # draws held at a time: a budget of ten inputs stays in 8 MB


@dataclass(frozen=True, slots=True)
class Simulated:
    """The measurand's mean, standard uncertainty and two coverage intervals."""

    mean: float
    uncertainty: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]
    coverage: float
    trials: int
    seed: int


def simulate(  # noqa: PLR0913  (each names itself at the call)
    model: Model,
    inputs: Sequence[Input],
    *,
    correlation: ArrayLike | None = None,
    trials: int = 1_000_000,
    coverage: float = 0.95,
    seed: int = 1,
) -> Simulated:
    """Draw the inputs, independent but for `correlation`, and return what the measurand does.

    `symmetric` leaves the same probability out on both sides, `shortest` is the narrowest that
    covers. The same seed gives the same answer. Raises Refused for fewer than 10⁴ trials (JCGM
    101, 7.2: 10⁴ times what is left out, for two digits).
    """
    estimates(inputs)  # refuses an empty budget
    if trials < 10_000:
        raise Refused(
            "too-few-trials",
            f"{trials} trials do not fix a 95 % interval.",
            where="trials",
            fix="Use 10⁶.",
        )
    matrix = checked_correlation(correlation, len(inputs))
    groups = bound_groups(matrix)
    generator = np.random.default_rng(seed)
    drawn = np.empty(trials)
    for begin in range(0, trials, _BLOCK):
        count = min(_BLOCK, trials - begin)
        values = np.empty((len(inputs), count))
        for group in groups:
            values[group] = (
                inputs[group[0]].draw(generator, count)
                if len(group) == 1
                else draw_bound(inputs, group, matrix, generator, count)
            )
        drawn[begin : begin + count] = model(values)
    mean, uncertainty = float(drawn.mean()), float(drawn.std(ddof=1))
    drawn.sort()
    inside = round(coverage * trials)
    left = (trials - inside) // 2
    widths = drawn[inside:] - drawn[: trials - inside]
    narrowest = int(widths.argmin())
    return Simulated(
        mean=mean,
        uncertainty=uncertainty,
        symmetric=(float(drawn[left]), float(drawn[left + inside - 1])),
        shortest=(float(drawn[narrowest]), float(drawn[narrowest + inside])),
        coverage=coverage,
        trials=trials,
        seed=seed,
    )
