"""Verification of an apparatus: the mean of results on a reference liquid against its value."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, sqrt

from closedcup.errors import InputError
from closedcup.metrology.agreement import require_precision_order

_NOISE_C = 1e-9  # a difference of decimals in binary


@dataclass(frozen=True, slots=True)
class Verification:
    """|mean - reference value| beside its limit; `steps` shows the arithmetic."""

    n: int
    mean_c: float
    reference_value_c: float
    bias_c: float
    limit_c: float
    in_control: bool
    rule: str
    steps: tuple[str, ...]


def single_laboratory_reproducibility_c(
    n: int, *, repeatability_c: float, reproducibility_c: float
) -> float:
    """Return R₁ = √(R² - r²(1 - 1/n)): the 95 % difference between two laboratories' means of n.

    n = 1 gives R. Source: ISO 4259 and the verification annexes of the methods (memory; the
    derivation is consistent: σ_mean² = σ_R² - σ_r²(1 - 1/n)).
    Raises InputError for n below 1 or R below r.
    """
    if n < 1:
        raise InputError("results-missing", "A verification needs a result.", where="results")
    require_precision_order(repeatability_c, reproducibility_c)
    return sqrt(reproducibility_c**2 - repeatability_c**2 * (1 - 1 / n))


def verification_limit_c(
    n: int,
    *,
    repeatability_c: float,
    reproducibility_c: float,
    expanded_uncertainty_c: float | None = None,
) -> float:
    """Return what the mean of n results may differ from the reference value by (95 %).

    R₁/√2, or √(R₁²/2 + U²) with the certificate's expanded uncertainty U (k = 2, about 95 %).
    r and R are the method's at the reference value.
    """
    r1_c = single_laboratory_reproducibility_c(
        n, repeatability_c=repeatability_c, reproducibility_c=reproducibility_c
    )
    return sqrt(r1_c**2 / 2 + (expanded_uncertainty_c or 0.0) ** 2)


def verify(
    results_c: Sequence[float],
    *,
    reference_value_c: float,
    repeatability_c: float,
    reproducibility_c: float,
    expanded_uncertainty_c: float | None = None,
) -> Verification:
    """Compare the mean of corrected, unrounded or reported results with a reference value.

    results_c: one or more results in °C at 101.3 kPa, all on one apparatus in one series. Raises
    InputError for none, for one that is not a number, or for R below r.
    """
    if not all(isfinite(result) for result in results_c):
        raise InputError("not-a-number", "A result is not a number.", where="results")
    n = len(results_c)
    r1_c = single_laboratory_reproducibility_c(
        n, repeatability_c=repeatability_c, reproducibility_c=reproducibility_c
    )
    limit_c = verification_limit_c(
        n,
        repeatability_c=repeatability_c,
        reproducibility_c=reproducibility_c,
        expanded_uncertainty_c=expanded_uncertainty_c,
    )
    mean_c = sum(results_c) / n
    bias_c = round(mean_c - reference_value_c, 9)
    with_u = expanded_uncertainty_c is not None
    r1_words = "R" if n == 1 else f"R₁ = √(R² - r²(1 - 1/{n})) = {r1_c:.3f} °C"
    limit_words = f"√(R₁²/2 + U²) with U = {expanded_uncertainty_c:g} °C" if with_u else "R₁/√2"
    return Verification(
        n=n,
        mean_c=mean_c,
        reference_value_c=reference_value_c,
        bias_c=bias_c,
        limit_c=limit_c,
        in_control=abs(bias_c) <= limit_c + _NOISE_C,
        rule="|mean - reference value| ≤ " + ("√(R₁²/2 + U²)" if with_u else "R₁/√2"),
        steps=(
            f"mean of {n}: {mean_c:.2f} °C",
            f"difference from {reference_value_c:.2f} °C: {bias_c:+.2f} °C",
            f"r = {repeatability_c:.3f} °C, R = {reproducibility_c:.3f} °C; {r1_words}",
            f"limit {limit_words} = {limit_c:.3f} °C",
        ),
    )
