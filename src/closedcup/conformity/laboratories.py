"""The value that several laboratories assign to one batch, and whether it is accepted.

After ASTM D3244 and ISO 4259-2: compare, take the mean where they agree, and compare it with an
acceptance limit for a probability agreed before testing. The texts were not at hand: the rules are
from memory, the figures follow from the normal distribution. In one laboratory alone its own site
precision takes the place of R.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean
from typing import Final

from closedcup.conformity.specification import Specification
from closedcup.conformity.spread import REPRODUCIBILITY_TO_DEVIATION
from closedcup.errors import InputError, Refused
from closedcup.metrology import require_precision_order

# Critical range of n single results in units of R: 95 % quantile of the studentized range over
# 2.772 (ISO 5725-6; computed).
_CRITICAL_RANGE: Final = {
    2: 1.0,
    3: 1.1958,
    4: 1.3108,
    5: 1.3917,
    6: 1.454,
    7: 1.5043,
    8: 1.5464,
    9: 1.5825,
    10: 1.6142,
}


@dataclass(frozen=True, slots=True)
class LaboratoryResults:
    """The results of one laboratory on one batch, corrected, in °C."""

    name: str
    results_c: tuple[float, ...]

    @property
    def mean_c(self) -> float:
        """The mean of its results."""
        return fmean(self.results_c)


@dataclass(frozen=True, slots=True)
class AssignedValue:
    """The assigned test value, the standard deviation of it, and how it came about.

    `left_out` are laboratories whose means stood apart; `half_interval_c` is the 95 % half-width.
    """

    value_c: float
    standard_c: float
    half_interval_c: float
    laboratories: tuple[str, ...]
    left_out: tuple[str, ...]
    difference_c: float
    allowed_c: float
    words: str


def mean_reproducibility_c(count: int, repeatability_c: float, reproducibility_c: float) -> float:
    """Return R₁ = √(R² - r² (1 - 1/k)): the 95 % difference of two such means of k results."""
    return math.sqrt(reproducibility_c**2 - repeatability_c**2 * (1 - 1 / count))


def assigned_value(
    laboratories: Sequence[LaboratoryResults], *, repeatability_c: float, reproducibility_c: float
) -> AssignedValue:
    """Return the value that the laboratories assign together.

    Raises InputError for no laboratory, a laboratory without a result or named twice, and r above
    R; Refused where two differ by more than they may (a third is needed), or no group agrees.
    """
    _refuse_unusable(laboratories, repeatability_c, reproducibility_c)
    reaches_c = {
        one.name: mean_reproducibility_c(len(one.results_c), repeatability_c, reproducibility_c)
        for one in laboratories
    }
    ordered = sorted(laboratories, key=lambda one: one.mean_c)
    kept, allowed_c = _agreeing(ordered, reaches_c)
    deviations = [reaches_c[one.name] / REPRODUCIBILITY_TO_DEVIATION for one in kept]
    standard_c = math.sqrt(sum(one**2 for one in deviations)) / len(kept)
    left_out = tuple(one.name for one in ordered if one not in kept)
    return AssignedValue(
        value_c=fmean(one.mean_c for one in kept),
        standard_c=standard_c,
        half_interval_c=1.959964 * standard_c,
        laboratories=tuple(one.name for one in kept),
        left_out=left_out,
        difference_c=kept[-1].mean_c - kept[0].mean_c,
        allowed_c=allowed_c,
        words=_words(kept, left_out),
    )


def _refuse_unusable(
    laboratories: Sequence[LaboratoryResults], repeatability_c: float, reproducibility_c: float
) -> None:
    names = [one.name for one in laboratories]
    if not laboratories or not all(one.results_c for one in laboratories):
        raise InputError("results-missing", "Each laboratory needs a result.", where="laboratory")
    if len(set(names)) < len(names):
        raise InputError("laboratory-twice", "A laboratory is named twice.", where="laboratory")
    if len(names) > max(_CRITICAL_RANGE):
        raise InputError(
            "too-many-laboratories",
            f"{len(names)} laboratories are a round, not a dispute.",
            where="laboratory",
            fix="Evaluate them with `closedcup interlaboratory`.",
        )
    require_precision_order(repeatability_c, reproducibility_c)


def _agreeing(
    ordered: Sequence[LaboratoryResults], reaches_c: dict[str, float]
) -> tuple[list[LaboratoryResults], float]:
    """Return all where they agree, else all but the one that stands furthest apart."""
    count = len(ordered)
    if count == 1:
        return list(ordered), 0.0
    allowed_c = _allowed(ordered, reaches_c)
    if ordered[-1].mean_c - ordered[0].mean_c <= allowed_c:
        return list(ordered), allowed_c
    if count == 2:
        raise Refused(
            "third-laboratory",
            f"The two differ by {ordered[1].mean_c - ordered[0].mean_c:.2f} °C, more than the "
            f"{allowed_c:.2f} °C that they may.",
            where="laboratory",
            fix="Repeat in both; if they still differ, ask a third laboratory.",
        )
    means = [one.mean_c for one in ordered]
    low_apart = means[1] - means[0] > means[-1] - means[-2]
    rest = ordered[1:] if low_apart else ordered[:-1]
    allowed_c = _allowed(rest, reaches_c)
    if rest[-1].mean_c - rest[0].mean_c <= allowed_c:
        return list(rest), allowed_c
    raise Refused(
        "laboratories-disagree",
        "No value can be assigned: the laboratories do not agree, nor do they without the one that "
        "stands furthest apart.",
        where="laboratory",
        fix="Look for the cause (sample, method, units, barometer) before another test.",
    )


def _allowed(group: Sequence[LaboratoryResults], reaches_c: dict[str, float]) -> float:
    mean_square = fmean(reaches_c[one.name] ** 2 for one in group)
    return _CRITICAL_RANGE[len(group)] * math.sqrt(mean_square)


def _words(kept: Sequence[LaboratoryResults], left_out: Sequence[str]) -> str:
    if len(kept) == 1:
        return f"mean of {len(kept[0].results_c)} result(s) of one laboratory"
    without = f", without {', '.join(left_out)}, which stood apart" if left_out else ""
    return f"mean of the {len(kept)} laboratories that agree{without}"


def acceptance_for_probability(
    specification: Specification, standard_c: float, probability: float
) -> Specification:
    """Return the limits at which a value is accepted with a given probability at the limit itself.

    AL = S ± z_P σ: 0.2551 z_P R for the mean of two laboratories, 0.3608 z_P R for one. P = 0.5 is
    the limit itself; above it the buyer gives tolerance, below it the seller keeps a margin.
    Raises InputError for a probability that is not between 0 and 1.
    """
    if not 0 < probability < 1:
        raise InputError(
            "probability-impossible",
            f"An acceptance probability of {probability:g} is not possible.",
            where="probability",
            fix="Agree one between 0 and 1, such as 0.95; 0.5 is the limit itself.",
        )
    return specification.moved(-NormalDist().inv_cdf(probability) * standard_c)
