"""Test a few results for outliers: the farthest one, the larger gap, several at once."""

from collections.abc import Sequence
from typing import Any, Final

from closedcup.app.usecases.charts.control_history import History
from closedcup.errors import Refused
from closedcup.metrology import (
    OutlierTest,
    anderson_darling,
    dixon,
    generalised_deviates,
    grubbs,
    univariate,
)

Answer = dict[str, Any]

_LEAST_FOR_SEVERAL: Final = 15  # the level of the test holds from there on (Rosner 1983, memory)
_MOST_SUSPECTS: Final = 10
_COARSE: Final = 0.5
"""Of s: rounding coarser than this makes gaps and deviates of its own."""


def outliers(history: History) -> Answer:
    """Return the object that `closedcup outliers` prints.

    Grubbs for one, Dixon for 3 to 12 results, generalised deviates for several from 15 on. Refused
    for fewer than three results, without a spread, and for results that are read more coarsely than
    half their standard deviation: these tests take results to be unrounded.
    """
    values = list(history.values)
    summary = univariate(values)
    step = max(history.resolutions)
    if step > _COARSE * summary.deviation:
        raise Refused(
            "resolution-coarse",
            f"Results are read to {step:g} °C, coarser than half their standard deviation "
            f"({summary.deviation:.3g} °C): these tests would speak of the rounding.",
            where="results",
            fix="Compare them with r: closedcup precision. Or give results before rounding.",
        )
    several = _several(values)
    tests = [_told(grubbs(values)), *([_told(dixon(values))] if len(values) <= 12 else [])]
    suspected = [test["standing"] for test in tests] + (["outlier"] if several else [])
    return {
        "results": summary.n,
        "mean_c": summary.mean,
        "deviation_c": summary.deviation,
        "tests": tests,
        "several": several,
        "normality": None if len(values) < 8 else anderson_darling(values).corrected,
        "outlier": "outlier" in suspected,
        "note": "A result is left out only for a cause that was found; a test is no cause.",
    }


def _told(test: OutlierTest) -> Answer:
    return {
        "test": test.test,
        "number": test.position + 1,
        "value_c": test.value,
        "statistic": test.statistic,
        "critical_5_percent": test.critical_5,
        "critical_1_percent": test.critical_1,
        "standing": test.standing,
    }


def _several(values: Sequence[float]) -> list[Answer]:
    """Return the outliers among many results, the farthest first; none where they are too few."""
    if len(values) < _LEAST_FOR_SEVERAL:
        return []
    found = generalised_deviates(values, most=min(_MOST_SUSPECTS, len(values) // 3), risk=0.01)
    return [
        {
            "number": place + 1,
            "value_c": values[place],
            "statistic": float(found.statistics[order]),
            "critical_1_percent": float(found.criticals[order]),
        }
        for order, place in enumerate(found.positions[: found.count])
    ]
