"""The metrology part's own tables, with their sources."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from closedcup.errors import Refused
from closedcup.sources import Bibliography, Known, load_bibliography, load_rows, parse_known


@dataclass(frozen=True, slots=True)
class ReferenceLiquid:
    """A published flash point of a pure liquid, for one kind of method.

    method_family: "small scale", "stirred ramp", or one method's identifier; a value of one is no
    target for another. use: "verification" or "planning". value_c is on the corrected scale;
    uncertainty_c is the tolerance printed with it, None where none is.
    """

    liquid: str
    cas: str
    method_family: str
    value_c: float
    uncertainty_c: float | None
    use: str
    note: str
    source: str
    known: Known


@cache
def bibliography() -> Bibliography:
    """Return the sources of the metrology tables."""
    return load_bibliography(files("closedcup.metrology") / "data" / "sources.csv")


@cache
def reference_liquids() -> tuple[ReferenceLiquid, ...]:
    """Return the published values; a laboratory's certificates are its own records."""
    file = files("closedcup.metrology") / "data" / "reference_liquids.csv"
    return tuple(
        ReferenceLiquid(
            liquid=row["liquid"],
            cas=row["cas"],
            method_family=row["method_family"],
            value_c=float(row["value_c"]),
            uncertainty_c=float(row["uncertainty_c"]) if row["uncertainty_c"] else None,
            use=row["use"],
            note=row["note"],
            source=row["source"],
            known=parse_known(row["known"], where=f"reference_liquids.csv, {row['liquid']}"),
        )
        for row in load_rows(file, bibliography())
    )


@cache
def _range_factors() -> dict[int, float]:
    file = files("closedcup.metrology") / "data" / "range_factors.csv"
    return {int(row["n"]): float(row["factor"]) for row in load_rows(file, bibliography())}


@dataclass(frozen=True, slots=True)
class ChartConstants:
    """Factors of charts of subgroups of n; capital D3 and D4 are `big_d3` and `big_d4`."""

    d2: float
    d3: float
    c4: float
    a2: float
    a3: float
    b3: float
    b4: float
    big_d3: float
    big_d4: float


@cache
def _chart_constants() -> dict[int, ChartConstants]:
    file = files("closedcup.metrology") / "data" / "chart_constants.csv"
    columns = ("d2", "d3", "c4", "A2", "A3", "B3", "B4", "D3", "D4")
    return {
        int(row["n"]): ChartConstants(*(float(row[column]) for column in columns))
        for row in load_rows(file, bibliography())
    }


def chart_constants(n: int) -> ChartConstants:
    """Return the factors for subgroups of n results (2 to 25).

    Raises Refused for any other n.
    """
    table = _chart_constants()
    if n not in table:
        raise Refused(
            "subgroup-size",
            f"Subgroups hold {min(table)} to {max(table)} results, not {n}.",
            where="subgroups",
            fix="Chart single results, or form smaller subgroups.",
        )
    return table[n]


@cache
def dixon_critical_values() -> dict[int, dict[float, float]]:
    """Return the two-sided critical gap ratios: by n, then by the risk of a false outlier."""
    file = files("closedcup.metrology") / "data" / "dixon_critical.csv"
    return {
        int(row["n"]): {
            risk: float(row[f"{risk:.0%}".replace("%", "_percent")]) for risk in (0.10, 0.05, 0.01)
        }
        for row in load_rows(file, bibliography())
    }


def range_factor(n: int) -> float:
    """Return the critical range of n results over that of two (n from 2 to 10).

    Raises Refused for any other n.
    """
    factors = _range_factors()
    if n not in factors:
        raise Refused(
            "range-factor-missing",
            f"The critical range is tabulated for {min(factors)} to {max(factors)} results, not "
            f"for {n}.",
            where="results",
            fix="Compare fewer results at a time, or use a chart.",
        )
    return factors[n]
