"""Probabilities of conformity and acceptance limits beside published figures."""

from decimal import Decimal
from importlib.resources import files
from statistics import NormalDist
from typing import Final

from closedcup.app.validation.comparison import Comparison
from closedcup.conformity import decide, spread_from_reproducibility
from closedcup.conformity.decision import probability_of_meeting
from closedcup.quantities import Limit, Temperature
from closedcup.sources import Bibliography, load_bibliography, load_rows, parse_known

_DATA: Final = files(__package__) / "data"
# The published limits are printed to a hundredth or a thousandth of a degree.
_PRINTED_C: Final = 0.0005


def _bibliography() -> Bibliography:
    return load_bibliography(_DATA / "conformity_sources.csv")


def _limit(operator: str, value: str) -> Limit:
    return Limit(operator, Temperature(Decimal(value), "degC"))


def _probabilities() -> list[Comparison]:
    bibliography = _bibliography()
    return [
        Comparison(
            function="conformity.decision.probability_of_meeting",
            quantity=f"probability, {row['example']}: {row['result']} "
            f"({row['limit_operator']} {row['limit']}, u = {row['standard_uncertainty']})",
            published=float(row["published"]),
            computed=probability_of_meeting(
                _limit(row["limit_operator"], row["limit"]),
                float(row["result"]),
                float(row["standard_uncertainty"]),
            ),
            allowed=0.5001 * 10.0 ** -int(row["digits"]),
            source=bibliography.cite(row["source"]),
            known=parse_known(row["known"], where=row["example"]),
        )
        for row in load_rows(_DATA / "conformity_examples.csv", bibliography)
    ]


def _acceptance_limits() -> list[Comparison]:
    bibliography = _bibliography()
    return [
        Comparison(
            function="conformity.decision.decide",
            quantity=f"acceptance limit for {row['operator']} {row['limit_c']} °C, "
            f"R = {row['reproducibility_c']} °C",
            published=float(row["published_c"]),
            computed=decide(
                float(row["limit_c"]),
                _limit(row["operator"], row["limit_c"]),
                rule="guarded",
                spread=spread_from_reproducibility(float(row["reproducibility_c"])),
            ).acceptance_limit_c,
            allowed=_PRINTED_C,
            source=bibliography.cite(row["source"]),
            known=parse_known(row["known"], where="acceptance_limits.csv"),
        )
        for row in load_rows(_DATA / "acceptance_limits.csv", bibliography)
    ]


def _guard_factor() -> Comparison:
    """Compare the deviation that the printed factor of 0.59 implies (95 %, one-sided)."""
    one_sided_95 = NormalDist().inv_cdf(0.95)
    return Comparison(
        function="conformity.decision.spread_from_reproducibility",
        quantity="standard uncertainty in units of R, from the printed guard band of 0.59 R",
        published=0.59 / one_sided_95,
        computed=spread_from_reproducibility(1.0).standard_c,
        allowed=0.005 / one_sided_95,
        source=_bibliography().cite("iso-4259-2"),
        known="memory",
    )


def _two_limits() -> Comparison:
    """Compare an oil's viscosity between two limits: both one-sided probabilities minus one."""
    result, standard = 13.6, 1.8
    lower = probability_of_meeting(_limit(">=", "12.5"), result, standard)
    upper = probability_of_meeting(_limit("<=", "16.3"), result, standard)
    return Comparison(
        function="conformity.decision.probability_of_meeting",
        quantity="probability, viscosity of an oil: 13.6 (12.5 to 16.3, u = 1.8)",
        published=0.66,
        computed=lower + upper - 1,
        allowed=0.005,
        source=_bibliography().cite("jcgm-106-7.4"),
        known="memory",
    )


def comparisons() -> list[Comparison]:
    """Return the worked conformity figures beside ours."""
    return [*_probabilities(), _two_limits(), *_acceptance_limits(), _guard_factor()]
