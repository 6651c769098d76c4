"""Verification limits and agreement of results beside worked figures."""

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.methods import rows_of
from closedcup.methods import method, precision_at
from closedcup.metrology import agree, agree_means, verify
from closedcup.sources import parse_known

# The 95 % difference of two results is 1.96 √2 standard deviations.
_TWO_RESULTS = 2.772


def comparisons() -> list[Comparison]:
    """Compare the metrology part with the worked figures of its tables."""
    return [
        *(_window(row) for row in rows_of("verification_windows.csv")),
        *(_difference(row) for row in rows_of("agreement_limits.csv")),
        *(_range(row) for row in rows_of("range_factors.csv")),
    ]


def _window(row: dict[str, str]) -> Comparison:
    reference_c = float(row["reference_c"])
    found = precision_at(method(row["method"]), reference_c)
    assert found.reproducibility_c is not None  # noqa: S101 - these methods state R
    return Comparison(
        function="metrology.verification.verify",
        quantity=f"{row['liquid']} by {row['method']}, mean of {row['n']}",
        published=float(row["published"]),
        computed=verify(
            [reference_c] * int(row["n"]),
            reference_value_c=reference_c,
            repeatability_c=found.repeatability_c,
            reproducibility_c=found.reproducibility_c,
        ).limit_c,
        allowed=0.005 + 1e-9,  # printed to 0.01
        source=row["source"],
        known=parse_known(row["known"], where=row["liquid"]),
    )


def _difference(row: dict[str, str]) -> Comparison:
    return Comparison(
        function="metrology.agreement.agree_means",
        quantity=f"means of {row['k1']} and {row['k2']} results, r = 2, R = 4",
        published=float(row["published"]),
        computed=agree_means(
            [0.0] * int(row["k1"]),
            [0.0] * int(row["k2"]),
            repeatability_c=2.0,
            reproducibility_c=4.0,
        ).limit_c,
        allowed=float(row["allowed"]),
        source=row["source"],
        known=parse_known(row["known"], where=row["k1"]),
    )


def _range(row: dict[str, str]) -> Comparison:
    return Comparison(
        function="metrology.agreement.agree",
        quantity=f"critical range of {row['n']} results, in standard deviations",
        published=float(row["published"]),
        computed=agree([0.0] * int(row["n"]), repeatability_c=_TWO_RESULTS).limit_c,
        allowed=0.05,  # printed to 0.1
        source=row["source"],
        known=parse_known(row["known"], where=row["n"]),
    )
