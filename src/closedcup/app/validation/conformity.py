"""Probabilities of conformity and acceptance limits beside published figures."""

from decimal import Decimal
from importlib.resources import files
from statistics import NormalDist
from typing import Final

from closedcup.app.validation.comparison import Comparison
from closedcup.conformity import (
    LaboratoryResults,
    Process,
    Specification,
    acceptance_for_probability,
    assigned_value,
    decide,
    global_risks,
    guard_for_risk,
    mean_reproducibility_c,
    probability_of_meeting,
    specification_of,
    spread_from_reproducibility,
)
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
            quantity=f"acceptance limit, {row['rule']}, for {row['operator']} {row['limit_c']} °C, "
            f"R = {row['reproducibility_c']} °C",
            published=float(row["published_c"]),
            computed=decide(
                float(row["limit_c"]),
                _limit(row["operator"], row["limit_c"]),
                rule=row["rule"],
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
        function="conformity.spread.spread_from_reproducibility",
        quantity="standard uncertainty in units of R, from the printed guard band of 0.59 R",
        published=0.59 / one_sided_95,
        computed=spread_from_reproducibility(1.0).standard_c,
        allowed=0.005 / one_sided_95,
        source=_bibliography().cite("iso-4259-2"),
        known="memory",
    )


def _two_limits() -> Comparison:
    """Compare an oil's viscosity between two limits, in mm²/s."""
    return Comparison(
        function="conformity.decision.probability_of_meeting",
        quantity="probability, viscosity of an oil: 13.6 (12.5 to 16.3, u = 1.8)",
        published=0.66,
        computed=probability_of_meeting(_between("12.5", "16.3"), 13.6, 1.8),
        allowed=0.005,
        source=_bibliography().cite("jcgm-106-7.4"),
        known="memory",
    )


def _between(low: str, high: str) -> Specification:
    return specification_of([_limit(">=", low), _limit("<=", high)])


def _global_risks() -> list[Comparison]:
    """Compare the risks over batches: true values N(0, 1), limits ±2, u = 0.5."""
    limits, process = _between("-2", "2"), Process(0.0, 1.0, "example")
    found = []
    for band, consumer, producer in ((0.0, 0.0123887, 0.0405268), (0.5, 0.0029882, 0.1372004)):
        risks = global_risks(limits, limits.moved(band), process, 0.5)
        for side, published, computed in (
            ("consumer's", consumer, risks.consumer),
            ("producer's", producer, risks.producer),
        ):
            found.append(
                Comparison(
                    function="conformity.process.global_risks",
                    quantity=f"global {side} risk, N(0, 1), ±2, u = 0.5, guard band {band:g}",
                    published=published,
                    computed=computed,
                    allowed=0.5001e-7,
                    source=_bibliography().cite("jcgm-106-9.5"),
                    known="memory",
                )
            )
    return found


def _means() -> list[Comparison]:
    bibliography = _bibliography()
    found = []
    for row in load_rows(_DATA / "mean_reproducibility.csv", bibliography):
        r, big, count = (
            float(row["repeatability_c"]),
            float(row["reproducibility_c"]),
            int(row["count"]),
        )
        assigned = assigned_value(
            [LaboratoryResults("one", (60.0,) * count)], repeatability_c=r, reproducibility_c=big
        )
        for function, what, published, computed in (
            ("mean_reproducibility_c", "R1", row["published_c"], None),
            ("assigned_value", "95 % half-width", row["half_width_c"], assigned.half_interval_c),
        ):
            value = mean_reproducibility_c(count, r, big) if computed is None else computed
            found.append(
                Comparison(
                    function=f"conformity.laboratories.{function}",
                    quantity=f"{what} of the mean of {count}, r = {r:g}, R = {big:g} °C",
                    published=float(published),
                    computed=value,
                    allowed=0.5001e-5,
                    source=bibliography.cite(row["source"]),
                    known=parse_known(row["known"], where="mean_reproducibility.csv"),
                )
            )
    return found


def _assigned_limits() -> list[Comparison]:
    """Compare the coefficients of z R by which the acceptance limit of a mean moves."""
    found = []
    one_sigma = NormalDist().cdf(-1.0)  # z = -1: the limit moves inwards by one deviation
    for laboratories, published in ((1, 0.360775), (2, 0.255107)):
        assigned = assigned_value(
            [LaboratoryResults(str(n), (60.0,)) for n in range(laboratories)],
            repeatability_c=0.5,
            reproducibility_c=1.0,
        )
        moved = acceptance_for_probability(
            specification_of([_limit(">=", "60")]), assigned.standard_c, one_sigma
        )
        found.append(
            Comparison(
                function="conformity.laboratories.acceptance_for_probability",
                quantity=f"acceptance limit in units of z R, mean of {laboratories} laboratories",
                published=published,
                computed=moved.nearest(60.0).corrected_c - 60.0,
                allowed=0.5001e-6,
                source=_bibliography().cite("d3244"),
                known="memory",
            )
        )
    return found


def _guard_bands() -> list[Comparison]:
    bibliography = _bibliography()
    return [
        Comparison(
            function="conformity.rules.guard_for_risk",
            quantity=f"guard band in units of u for a largest risk of {row['largest_risk']}",
            published=float(row["guard_band_in_u"]),
            computed=guard_for_risk(1.0, float(row["largest_risk"])),
            # The risks are printed to six digits; at 3 u a unit of the last is 1e-4 u.
            allowed=2e-4,
            source=bibliography.cite(row["source"]),
            known=parse_known(row["known"], where="guard_bands.csv"),
        )
        for row in load_rows(_DATA / "guard_bands.csv", bibliography)
    ]


def comparisons() -> list[Comparison]:
    """Return the worked conformity figures beside ours."""
    return [
        *_probabilities(),
        _two_limits(),
        *_acceptance_limits(),
        _guard_factor(),
        *_guard_bands(),
        *_global_risks(),
        *_means(),
        *_assigned_limits(),
    ]
