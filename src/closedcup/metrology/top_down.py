"""Uncertainty from above: from reproducibility, from a history of verifications or of rounds.

And whether a budget from below explains it.
"""

from dataclasses import dataclass
from math import isinf, sqrt

import numpy as np
from numpy.typing import ArrayLike

from closedcup.errors import InputError
from closedcup.metrology.quantiles import fisher_quantile
from closedcup.metrology.series import checked

_TWO_RESULTS = 2.772  # 1.96 √2: the 95 % difference of two results, in standard deviations


@dataclass(frozen=True, slots=True)
class TopDown:
    """A standard uncertainty from above with its parts and degrees of freedom."""

    uncertainty: float
    within_site: float
    bias: float
    reference: float
    degrees_of_freedom: float
    n: int


def from_reproducibility(reproducibility: float) -> float:
    """Return R/2.772: the standard deviation of a single result of any competent site.

    Raises InputError unless R is positive.
    """
    if not reproducibility > 0:
        raise InputError("reproducibility", "R must be positive.", where="reproducibility")
    return reproducibility / _TWO_RESULTS


def from_history(differences: ArrayLike, *, reference_uncertainty: float = 0.0) -> TopDown:
    """Return √(s² + mean bias² + u_ref²) of differences from known values (at least 5).

    The known values are those of reference materials, or those assigned in proficiency rounds.
    s holds what varies within the site over time; the mean difference what it does not correct.
    """
    series = checked(differences, at_least=5, purpose="An uncertainty from history", spread=False)
    s, bias = float(series.std(ddof=1)), float(series.mean())
    return TopDown(
        uncertainty=sqrt(s**2 + bias**2 + reference_uncertainty**2),
        within_site=s,
        bias=bias,
        reference=reference_uncertainty,
        degrees_of_freedom=series.size - 1,
        n=series.size,
    )


def reconciled(
    from_below: float, freedom_below: float, from_above: float, freedom_above: float
) -> str:
    """Say in words whether a budget explains what is seen from above (F at 95 %).

    Raises InputError unless both are positive.
    """
    if not (from_below > 0 and from_above > 0):
        raise InputError("uncertainty", "Both uncertainties must be positive.", where="budget")
    large = 1e6  # stands for infinite degrees of freedom in F
    below, above = (large if isinf(one) else one for one in (freedom_below, freedom_above))
    ratio = np.square(from_above / from_below)
    if ratio > fisher_quantile(0.95, above, below):
        return (
            "More scatter is seen than the budget explains: something is missing from it. "
            "Claim the larger."
        )
    if 1 / ratio > fisher_quantile(0.95, below, above):
        return (
            "The budget claims more than is seen: it is on the safe side, or counts something "
            "twice."
        )
    return "The budget explains what is seen."
