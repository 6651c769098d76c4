"""What to bear in mind when reading a diagnosis: thin evidence, odd records, a stray result."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from closedcup.app.usecases.apparatus.verification_conditions import differs_from_formula
from closedcup.app.usecases.diagnosis.diagnosis_words import share
from closedcup.app.usecases.diagnosis.reference_history import Gathered, MadeResult
from closedcup.methods import correction_c
from closedcup.metrology.diagnosis import Diagnosis
from closedcup.metrology.outliers import grubbs

# At a pressure that does not differ these are the same number added to every result.
_SAME_TRACE: Final = frozenset(
    ("constant offset", "pressure not corrected", "pressure corrected twice")
)
# Of clean simulated histories of 8 or 10 results 7 % are given a cause, of 12 4 %, of 30 2 %
# (docs/decisions/diagnosis.md).
_FEW_RESULTS: Final = 12


def diagnosis_warnings(gathered: Gathered, found: Diagnosis) -> list[str]:
    """Return what to bear in mind, in words."""
    return [
        *_few(gathered, found),
        *_stray(gathered, found),
        *_same_pressure(gathered, found),
        *_corrected_otherwise(gathered),
        *_thin(found),
    ]


def _few(gathered: Gathered, found: Diagnosis) -> Iterator[str]:
    count = len(gathered.made)
    if count >= _FEW_RESULTS or not found.found:
        return
    yield (
        f"{count} results are few: of simulated histories with nothing wrong about 7 in 100 "
        "are given a cause."
    )


def _stray(gathered: Gathered, found: Diagnosis) -> Iterator[str]:
    """Name a single result that lies apart: it looks like scatter but is no repeatability."""
    first = found.causes[0]
    fitted = first.fitted_c if found.found else np.zeros_like(first.fitted_c)
    away = (gathered.history.difference_c - fitted) / gathered.history.noise_c
    if np.ptp(away) == 0:
        return
    test = grubbs(away)
    if test.standing != "outlier":
        return
    stray = gathered.made[test.position]
    yield (
        f"Result {test.position + 1} ({stray.label}: {stray.result_c:g} °C for "
        f"{stray.reference_c:g} °C) lies apart from the others (Grubbs {test.statistic:.2f}, "
        f"critical {test.critical_1:.2f} at 1 %). Look at it first: with its cause assigned "
        "(closedcup assign-cause) it is left out here."
    )


def _same_pressure(gathered: Gathered, found: Diagnosis) -> Iterator[str]:
    correction = gathered.history.pressure_correction_c
    if correction is None or not _SAME_TRACE.intersection(found.named):
        return
    if np.ptp(correction) >= gathered.history.noise_c.mean():
        return
    span_kpa = np.ptp([each.pressure_kpa for each in gathered.made])
    differed = f"differed by only {span_kpa:.1f} kPa" if span_kpa > 0 else "never differed"
    yield (
        f"The station's pressure {differed}: a pressure error and a constant offset leave the "
        "same trace, and only their size tells them apart."
    )


def _corrected_otherwise(gathered: Gathered) -> Iterator[str]:
    wrong = [each for each in gathered.made if _is_corrected_otherwise(each)]
    if not wrong:
        return
    one = wrong[0]
    yield (
        f"For {len(wrong)} of {len(gathered.made)} results what was added for pressure is not "
        f"what the formula gives ({one.label}: {one.correction_applied_c:+.2f} °C for "
        f"{correction_c(one.pressure_kpa or 0.0):+.2f} °C)."
    )


def _is_corrected_otherwise(made: MadeResult) -> bool:
    return (
        made.pressure_kpa is not None
        and made.correction_applied_c is not None
        and differs_from_formula(made.correction_applied_c, made.pressure_kpa)
    )


def _thin(found: Diagnosis) -> Iterator[str]:
    if not found.found or found.clean_probability <= 0.05:
        return
    yield (
        f"The evidence is not strong: with {share(found.clean_probability)} nothing is wrong. "
        "A few more results on a reference material will tell."
    )
