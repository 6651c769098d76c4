"""Risks over many batches: what the process makes, as it was before this result was known.

Global consumer's and producer's risk (JCGM 106:2012, 9.5; memory): the chance that a batch is
accepted although it fails, and rejected although it conforms, over the spread of the process.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean, stdev
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.conformity.specification import Specification
from closedcup.errors import Refused

Array = NDArray[np.float64]

_REACH: Final = 9.0  # standard deviations; what lies beyond is below 1e-18
_NODES: Final = 60
_LEAST_RESULTS: Final = 8
"""Fewer past results say too little of a spread: at 8 it is uncertain by a quarter of itself."""


@dataclass(frozen=True, slots=True)
class Process:
    """How true flash points of batches spread, as a normal distribution in °C."""

    mean_c: float
    standard_c: float
    words: str


@dataclass(frozen=True, slots=True)
class GlobalRisks:
    """Shares of all batches: accepted though failing, rejected though conforming, conforming."""

    consumer: float
    producer: float
    conforming: float


def process_from_results(results_c: Sequence[float], standard_c: float) -> Process:
    """Return the process behind past results of one product, the test's own spread taken out.

    results_c: corrected results in °C; standard_c: standard uncertainty of one. Refused with fewer
    than 8 results, and where they spread less than the test itself does.
    """
    if len(results_c) < _LEAST_RESULTS:
        raise Refused(
            "history-too-short",
            f"{len(results_c)} earlier results say too little of how the product spreads.",
            where="process",
            fix=f"Wait for {_LEAST_RESULTS}, or state the process's mean and standard deviation.",
        )
    spread_c = stdev(results_c)
    if spread_c <= standard_c:
        raise Refused(
            "process-below-test",
            f"The results spread by {spread_c:.2f} °C, no more than the test itself "
            f"({standard_c:.2f} °C); the process cannot be told from them.",
            where="process",
            fix="State the process's mean and standard deviation from other knowledge.",
        )
    own_c = math.sqrt(spread_c**2 - standard_c**2)
    words = f"{len(results_c)} earlier results, their spread without that of the test"
    return Process(fmean(results_c), own_c, words)


def _chance(low_c: float, high_c: float, mean_c: Array, standard_c: float) -> Array:
    below = np.array([math.erf((high_c - one) / (standard_c * math.sqrt(2))) for one in mean_c])
    under = np.array([math.erf((low_c - one) / (standard_c * math.sqrt(2))) for one in mean_c])
    return np.asarray(0.5 * (below - under), dtype=np.float64)


def _ends(specification: Specification) -> tuple[float, float]:
    low = -math.inf if specification.lower is None else specification.lower.corrected_c
    high = math.inf if specification.upper is None else specification.upper.corrected_c
    return low, high


def _integral(
    process: Process, span: tuple[float, float], accepted: tuple[float, float], standard_c: float
) -> tuple[float, float]:
    """Return the share of batches in a span, and of those in it that are accepted."""
    reach_c = _REACH * process.standard_c
    low = max(span[0], process.mean_c - reach_c)
    high = min(span[1], process.mean_c + reach_c)
    if low >= high:
        return 0.0, 0.0
    # Pieces of at most half the smaller spread: within each the integrand is a smooth bump.
    step_c = min(process.standard_c, standard_c)
    pieces = max(1, min(2000, math.ceil((high - low) / step_c)))
    edges = np.linspace(low, high, pieces + 1)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES if pieces < 20 else 12)
    half = (edges[1:] - edges[:-1])[:, None] / 2
    points = (edges[:-1][:, None] + half * (nodes + 1)).ravel()
    weight = (half * weights).ravel()
    scaled = (points - process.mean_c) / process.standard_c
    density = np.exp(-0.5 * scaled**2) / (process.standard_c * math.sqrt(2 * math.pi))
    share = float(weight @ density)
    return share, float(weight @ (density * _chance(*accepted, points, standard_c)))


def global_risks(
    specification: Specification, acceptance: Specification, process: Process, standard_c: float
) -> GlobalRisks:
    """Return the global risks of an acceptance rule; standard_c: of one result, in °C."""
    low, high = _ends(specification)
    accepted = _ends(acceptance)
    inside, accepted_inside = _integral(process, (low, high), accepted, standard_c)
    outside = [
        _integral(process, span, accepted, standard_c)[1]
        for span in ((-math.inf, low), (high, math.inf))
    ]
    return GlobalRisks(sum(outside), inside - accepted_inside, inside)


def probability_with_process(
    specification: Specification, result_c: float, standard_c: float, process: Process
) -> float:
    """Return the probability of conformity from the result and the process together.

    Two normal distributions combine by their inverse variances (JCGM 106:2012, 7; memory).
    """
    own, prior = 1 / standard_c**2, 1 / process.standard_c**2
    mean_c = (own * result_c + prior * process.mean_c) / (own + prior)
    combined = NormalDist(mean_c, 1 / math.sqrt(own + prior))
    low, high = _ends(specification)
    below = 1.0 if math.isinf(high) else combined.cdf(high)
    return below - (0.0 if math.isinf(low) else combined.cdf(low))
