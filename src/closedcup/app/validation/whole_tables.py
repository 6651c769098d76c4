"""Whole tables, row by row: critical values, run lengths, h and k of every laboratory.

A row is compared as words: each computed figure is written with as many decimals as its neighbour.
"""

from collections.abc import Callable, Sequence
from importlib.resources import files
from typing import Final

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.interlaboratory import evaluated
from closedcup.metrology.cusum import average_run_length as cusum_run_length
from closedcup.metrology.ewma import average_run_length as ewma_run_length
from closedcup.metrology.interlaboratory import Material
from closedcup.metrology.outliers import (
    cochran_critical,
    grubbs_critical,
    mandel_h_critical,
    mandel_k_critical,
)
from closedcup.sources import load_bibliography, load_rows, parse_known


def comparisons() -> list[Comparison]:
    """Compare with `data/critical_tables.csv` and `data/round_details.csv`."""
    made = []
    for row in _rows("critical_tables.csv"):
        function, compute = _TABLES[row["table"]]
        computed = compute(*(float(one) for one in row["row"].split()))
        made.append(_compared(row, function, f"{row['table']}, row {row['row']}", computed))
    for row in _rows("round_details.csv"):
        found = evaluated(row["study"], row["material"])
        made.append(
            _compared(
                row,
                "metrology.interlaboratory.evaluate_material",
                f"{row['study']}, {row['material']}: {row['what']}",
                _DETAILS[row["what"]](found),
            )
        )
    return made


def _rows(table: str) -> list[dict[str, str]]:
    folder = files("closedcup.app.validation") / "data"
    bibliography = load_bibliography(folder / "metrology_sources.csv")
    return [
        row | {"source": bibliography.cite(row["source"])}
        for row in load_rows(folder / table, bibliography)
    ]


def _compared(
    row: dict[str, str], function: str, quantity: str, computed: Sequence[float]
) -> Comparison:
    published = row["published"].split()
    return Comparison(
        function=function,
        quantity=quantity,
        published=" ".join(published),
        computed=" ".join(
            one if _reads_as(value, one) else f"{value:.6g}"
            for value, one in zip(computed, published, strict=True)
        ),
        allowed=0.0,
        source=row["source"],
        known=parse_known(row["known"], where=quantity),
    )


def _reads_as(value: float, printed: str) -> bool:
    """Whether a value rounds to a printed one; a last 0 may have been left out."""
    most = max(len(printed.partition(".")[2]), 1)
    half = 0.5 * 10.0**-most
    return abs(value - float(printed)) <= half * (1 + 1e-9)


def _grubbs(n: float) -> list[float]:
    return [
        grubbs_critical(int(n), risk, one_sided=side) for side in (False, True) for risk in _RISKS
    ]


def _cochran(p: float) -> list[float]:
    return [cochran_critical(int(p), n, risk) for n in (2, 3, 4, 5, 6) for risk in _RISKS]


def _mandel(p: float) -> list[float]:
    risks = (*_RISKS, 0.005)
    return [
        *(mandel_h_critical(int(p), risk) for risk in risks),
        *(mandel_k_critical(int(p), n, risk) for n in (2, 3, 4, 5) for risk in risks),
    ]


def _cusum(interval: float, *shifts: float) -> list[float]:
    return [cusum_run_length(allowance=0.5, interval=interval, shift=one) for one in shifts]


def _ewma(weight: float, width: float, *shifts: float) -> list[float]:
    return [ewma_run_length(weight=weight, width=width, shift=one) for one in shifts]


_RISKS: Final = (0.05, 0.01)
_TABLES: Final[dict[str, tuple[str, Callable[..., list[float]]]]] = {
    "Grubbs": ("metrology.outliers.grubbs_critical", _grubbs),
    "Cochran": ("metrology.outliers.cochran_critical", _cochran),
    "Mandel": ("metrology.outliers.mandel_k_critical", _mandel),
    "CUSUM run length": ("metrology.cusum.average_run_length", _cusum),
    "EWMA run length": ("metrology.ewma.average_run_length", _ewma),
}


def _tests(found: Material) -> list[float]:
    return [
        0.0 if test is None else test.statistic
        for test in (found.cochran, found.grubbs_high, found.grubbs_low)
    ]


_DETAILS: Final[dict[str, Callable[[Material], Sequence[float]]]] = {
    "h": lambda found: found.h.tolist(),
    "k": lambda found: [] if found.k is None else found.k.tolist(),
    "Cochran, Grubbs high and low": _tests,
}
