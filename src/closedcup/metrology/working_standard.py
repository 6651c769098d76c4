"""A secondary working standard: a stable product whose value a site sets itself, from repeats."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from closedcup.errors import Refused
from closedcup.metrology.agreement import agree
from closedcup.metrology.outliers import grubbs
from closedcup.metrology.series import checked

_LEAST = 3  # verification annexes of the methods (memory)


@dataclass(frozen=True, slots=True)
class WorkingStandard:
    """The mean of the results kept, their standard deviation, and those left out as outliers."""

    value_c: float
    deviation_c: float
    n: int
    left_out_c: tuple[float, ...]


def working_standard(results_c: Sequence[float], *, repeatability_c: float) -> WorkingStandard:
    """Set a value from at least 3 corrected results of one site within repeatability.

    A result beyond Grubbs' 1 % value is left out, one at most. Raises Refused for fewer than
    three results, or for results that do not repeat within r (their range over the factor for n).
    """
    kept = checked(results_c, at_least=_LEAST, purpose="A working standard", spread=False)
    left_out: tuple[float, ...] = ()
    if kept.size > _LEAST and np.ptp(kept) > 0:
        suspect = grubbs(kept)
        if suspect.standing == "outlier":
            left_out = (suspect.value,)
            kept = np.delete(kept, suspect.position)
    found = agree(kept.tolist(), repeatability_c=repeatability_c)
    if not found.agree:
        raise Refused(
            "repeats-disagree",
            f"The results range over {found.difference_c:.2f} °C; {found.rule} allows "
            f"{found.limit_c:.2f} °C.",
            where="results",
            fix="Look for what scatters before a value is set.",
        )
    return WorkingStandard(
        value_c=float(kept.mean()),
        deviation_c=float(kept.std(ddof=1)),
        n=kept.size,
        left_out_c=left_out,
    )
