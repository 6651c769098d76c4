"""Whether repeated results agree: their spread against r or R (95 %)."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError
from closedcup.metrology.tables import range_factor

_NOISE_C = 1e-9  # a difference of decimals in binary: 60.5 - 59.5 against a limit of 1.0


@dataclass(frozen=True, slots=True)
class Agreement:
    """Results beside what they may differ by; `rule` says it in words."""

    results_c: tuple[float, ...]
    mean_c: float
    difference_c: float
    limit_c: float
    agree: bool
    rule: str


def agree(
    results_c: Sequence[float],
    *,
    repeatability_c: float,
    reproducibility_c: float | None = None,
    between_laboratories: bool = False,
) -> Agreement:
    """Compare single results of one laboratory with r, or of several laboratories with R.

    results_c: 2 to 10 corrected results in °C. Two may differ by r (or R); the range of n by r
    (or R) times q(0.95; n, ∞)/2.772 (ISO 5725-6, ISO 4259). r and R are those at the mean of the
    results. Raises InputError for fewer than two results or a missing R, Refused for more than ten.
    """
    if len(results_c) < 2:
        raise InputError(
            "results-missing",
            "One result has nothing to agree with.",
            where="results",
            fix="Give two or more results.",
        )
    if between_laboratories:
        limit_of_two_c, name = _reproducibility(reproducibility_c), "R"
    else:
        limit_of_two_c, name = repeatability_c, "r"
    values = np.asarray(results_c, dtype=np.float64)
    factor = range_factor(values.size)
    rule = (
        f"difference of two ≤ {name}"
        if values.size == 2
        else (f"range of {values.size} ≤ {factor:g} {name}")
    )
    return _compared(values, float(np.ptp(values)), limit_of_two_c * factor, rule)


def agree_means(
    first_c: Sequence[float],
    second_c: Sequence[float],
    *,
    repeatability_c: float,
    reproducibility_c: float | None,
) -> Agreement:
    """Compare the means of two laboratories.

    |difference| ≤ √(R² - r²(1 - 1/(2n₁) - 1/(2n₂))) (ISO 4259, memory). Single results give R.
    Raises InputError for a missing R or no results of one of them.
    """
    big_r_c = _reproducibility(reproducibility_c)
    require_precision_order(repeatability_c, big_r_c)
    first, second = (np.asarray(one, dtype=np.float64) for one in (first_c, second_c))
    if not first.size or not second.size:
        raise InputError(
            "results-missing",
            "Each laboratory needs a result.",
            where="results",
            fix="Give the results of both.",
        )
    limit_c = mean_difference_limit_c(
        first.size,
        second.size,
        repeatability_c=repeatability_c,
        reproducibility_c=big_r_c,
    )
    difference_c = abs(float(first.mean()) - float(second.mean()))
    rule = f"difference of means of {first.size} and {second.size} ≤ √(R² - r²(1 - 1/2n₁ - 1/2n₂))"
    return _compared(np.concatenate([first, second]), difference_c, limit_c, rule)


def mean_difference_limit_c(
    n_first: int, n_second: int, *, repeatability_c: float, reproducibility_c: float
) -> float:
    """Return what the means of n₁ and n₂ results of two laboratories may differ by (95 %)."""
    share = 1 - 1 / (2 * n_first) - 1 / (2 * n_second)
    return float(np.sqrt(reproducibility_c**2 - repeatability_c**2 * share))


def _reproducibility(reproducibility_c: float | None) -> float:
    if reproducibility_c is None:
        raise InputError(
            "reproducibility-missing",
            "Laboratories are compared by R, which the method does not state here.",
            where="results",
            fix="Agree on a limit with the other laboratory.",
        )
    return reproducibility_c


def require_precision_order(repeatability_c: float, reproducibility_c: float) -> None:
    """Raise InputError unless 0 <= r <= R, both in °C."""
    if not 0 <= repeatability_c <= reproducibility_c:
        raise InputError(
            "precision-order",
            f"R ({reproducibility_c:g} °C) cannot be smaller than r ({repeatability_c:g} °C).",
            where="precision",
            fix="Check which is which.",
        )


def _compared(
    values: NDArray[np.float64], difference_c: float, limit_c: float, rule: str
) -> Agreement:
    return Agreement(
        results_c=tuple(float(one) for one in values),
        mean_c=float(values.mean()),
        difference_c=difference_c,
        limit_c=limit_c,
        agree=difference_c <= limit_c + _NOISE_C,
        rule=rule,
    )
