"""What else a charted history says: normality, neighbours, the precision of the site."""

from typing import Any

import numpy as np

from closedcup.app.usecases.charts.control_history import History
from closedcup.metrology import (
    Chart,
    Series,
    neighbour_correlation,
    normality_of,
    site_repeatability,
    site_to_method_ratio,
)

Answer = dict[str, Any]


def normality(series: Series | None) -> Answer | None:
    """Return the Anderson-Darling test, by s and by moving ranges; None where it is not judged."""
    found = None if series is None else normality_of(series)
    if series is None or found is None:
        return None
    by_ranges = normality_of(series, by_moving_ranges=True)
    return {
        "statistic": found.statistic,
        "corrected": found.corrected,
        "probability": found.probability,
        "normal": found.normal,
        "corrected_by_moving_ranges": None if by_ranges is None else by_ranges.corrected,
    }


def autocorrelation(series: Series | None) -> float | None:
    """Return the correlation of neighbours: far from 0, limits from moving ranges are too tight."""
    if series is None or np.ptp(series.values) == 0:
        return None
    return neighbour_correlation(series.values)


def precision(history: History, chart: Chart) -> Answer:
    """Return r′ over r with its test, and R′ over R as a ratio only, where repeats allow."""
    found = site_repeatability(history.repeats)
    answer: Answer = {}
    if found is not None:
        answer["site_r_over_r"] = found.ratio
        answer["site_r_no_worse"] = found.no_worse
        answer["site_r_critical_ratio"] = found.critical_ratio
    if chart.kind == "individuals" and history.big_r and np.isfinite(history.big_r).all():
        mean_big_r = float(np.mean(history.big_r))
        answer["site_R_over_R"] = site_to_method_ratio(chart.limits.sigma, mean_big_r)
    return answer
