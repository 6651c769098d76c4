"""A round among laboratories: repeatability and reproducibility of each material.

ISO 5725-2 with unequal numbers of results; with equal numbers the same figures as ASTM E691
(s_R is never below s_r). r and R are 2.8 standard deviations.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError, Refused
from closedcup.metrology.outliers import (
    OutlierTest,
    cochran,
    grubbs,
    mandel_h_critical,
    mandel_k_critical,
)

Floats = NDArray[np.float64]

_TWO_RESULTS: Final = 2.8  # as ISO 5725 and E691 print 1.96 √2
_NOISE: Final = 1e-12  # means of equal decimals differ in binary
_MANDEL_RISK: Final = 0.005  # E691's level for h and k


@dataclass(frozen=True, slots=True)
class Material:
    """The figures of one material; arrays are in the order of `laboratories`.

    Without repeats (one result from each laboratory) nothing is said of repeatability and `k`,
    `cochran` and the figures of s_r are None. Of `cochran` and `grubbs`, positions are places in
    `laboratories`.
    """

    laboratories: tuple[str, ...]
    counts: NDArray[np.int_]
    means: Floats
    mean: float
    deviation_of_means: float
    repeatability_deviation: float | None
    between_deviation: float
    reproducibility_deviation: float
    h: Floats
    k: Floats | None
    h_critical: float
    k_critical: float | None
    cochran: OutlierTest | None
    grubbs_high: OutlierTest | None
    grubbs_low: OutlierTest | None

    @property
    def repeatability(self) -> float | None:
        """Return r, None without repeats."""
        found = self.repeatability_deviation
        return None if found is None else _TWO_RESULTS * found

    @property
    def reproducibility(self) -> float:
        """Return R."""
        return _TWO_RESULTS * self.reproducibility_deviation


def evaluate_material(results: Mapping[str, Sequence[float]]) -> Material:
    """Return the figures of one material from each laboratory's results.

    Laboratories without results are left out. Raises Refused for fewer than 3 laboratories or
    results that are all alike, InputError for a result that is not a number.
    """
    taken = {name: np.asarray(given, dtype=np.float64) for name, given in results.items() if given}
    if len(taken) < 3:
        raise Refused(
            "too-few-laboratories",
            f"A round needs results of at least 3 laboratories; there are {len(taken)}.",
            where="round",
            fix="Invite more, or compare two with: closedcup precision --between-laboratories",
        )
    _check_numbers(taken)
    counts = np.array([given.size for given in taken.values()])
    means = np.array([given.mean() for given in taken.values()])
    if np.ptp(np.concatenate(list(taken.values()))) == 0:
        raise Refused("no-spread", "All results of the round are alike.", where="round")
    mean = float(counts @ means / counts.sum())
    within = _repeatability(taken, counts)
    between_variance = _between_variance(counts, means, mean, within)
    apart = np.ptp(means) > _NOISE * max(1.0, abs(mean))
    spread = float(means.std(ddof=1)) if apart else 0.0
    k, k_critical, cochran_test = _repeat_tests(taken, counts)
    return Material(
        laboratories=tuple(taken),
        counts=counts,
        means=means,
        mean=mean,
        deviation_of_means=spread,
        repeatability_deviation=within,
        between_deviation=sqrt(between_variance),
        reproducibility_deviation=sqrt((within or 0.0) ** 2 + between_variance),
        h=(means - means.mean()) / spread if spread else np.zeros_like(means),
        h_critical=mandel_h_critical(means.size, _MANDEL_RISK),
        k=k,
        k_critical=k_critical,
        cochran=cochran_test,
        grubbs_high=grubbs(means, side="high") if spread else None,
        grubbs_low=grubbs(means, side="low") if spread else None,
    )


def _check_numbers(taken: Mapping[str, Floats]) -> None:
    for name, given in taken.items():
        if not np.isfinite(given).all():
            raise InputError(
                "not-a-number", f"A result of {name} is not a number.", where=f"laboratory {name}"
            )


def _repeatability(taken: Mapping[str, Floats], counts: NDArray[np.int_]) -> float | None:
    freedom = int((counts - 1).sum())
    if freedom == 0:
        return None
    squares = sum(float(((given - given.mean()) ** 2).sum()) for given in taken.values())
    return sqrt(squares / freedom)


def _between_variance(
    counts: NDArray[np.int_], means: Floats, mean: float, within: float | None
) -> float:
    """Return s_L², not below zero; n̿ = (N - Σn²/N)/(p - 1) stands for unequal numbers."""
    p, total = counts.size, counts.sum()
    s_d = float(counts @ (means - mean) ** 2) / (p - 1)
    typical = float(total - (counts**2).sum() / total) / (p - 1)
    return max(0.0, (s_d - (within or 0.0) ** 2) / typical)


def _repeat_tests(
    taken: Mapping[str, Floats], counts: NDArray[np.int_]
) -> tuple[Floats | None, float | None, OutlierTest | None]:
    """Return k, its critical value and Cochran's test over the laboratories that repeated.

    k is sᵢ/√(mean s²), which is exact where all have the same number of results; critical values
    are those of the most frequent number.
    """
    repeated = counts > 1
    if repeated.sum() < 2:
        return None, None, None
    variances = np.array(
        [given.var(ddof=1) if given.size > 1 else np.nan for given in taken.values()]
    )
    known = variances[repeated]
    usual = int(np.bincount(counts[repeated]).argmax())
    critical = mandel_k_critical(known.size, usual, _MANDEL_RISK)
    pooled = sqrt(float(known.mean()))
    if pooled == 0:
        return np.zeros_like(variances), critical, None
    found = cochran(known, usual)
    place = int(np.flatnonzero(repeated)[found.position])
    return np.sqrt(variances) / pooled, critical, replace(found, position=place)
