"""Statistics of a laboratory's figures: agreement of repeats, verification of an apparatus.

Here: values in, values out, with r and R given. Never here: decisions about a release, storage,
the numbers of a test method.
"""

from closedcup.metrology.agreement import (
    Agreement,
    agree,
    agree_means,
    mean_difference_limit_c,
)
from closedcup.metrology.tables import (
    ReferenceLiquid,
    bibliography,
    range_factor,
    reference_liquids,
)
from closedcup.metrology.verification import (
    Verification,
    single_laboratory_reproducibility_c,
    verification_limit_c,
    verify,
)

__all__ = [
    "Agreement",
    "ReferenceLiquid",
    "Verification",
    "agree",
    "agree_means",
    "bibliography",
    "mean_difference_limit_c",
    "range_factor",
    "reference_liquids",
    "single_laboratory_reproducibility_c",
    "verification_limit_c",
    "verify",
]
