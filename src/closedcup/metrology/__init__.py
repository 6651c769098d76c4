"""Statistics of a laboratory's figures: agreement, verification, charts, outliers, uncertainty.

Here: values in, values out, with r and R given. Never here: decisions about a release, storage,
the numbers of a test method.
"""

from closedcup.metrology.agreement import (
    Agreement,
    agree,
    agree_means,
    mean_difference_limit_c,
)
from closedcup.metrology.charting import (
    Chart,
    Series,
    chart_cusum,
    chart_ewma,
    chart_individuals,
    chart_subgroups,
    normality_of,
    resolution_of,
    series_of,
)
from closedcup.metrology.control_charts import USUAL_BASE, Limits, limits_around
from closedcup.metrology.interlaboratory import Material, evaluate_material
from closedcup.metrology.outliers import OutlierTest
from closedcup.metrology.robust import RobustEstimate, algorithm_a, q_and_hampel
from closedcup.metrology.run_rules import RULES, ZONE_RULES
from closedcup.metrology.scores import Scores, scores
from closedcup.metrology.site_precision import site_repeatability, site_to_method_ratio
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
    "RULES",
    "USUAL_BASE",
    "ZONE_RULES",
    "Agreement",
    "Chart",
    "Limits",
    "Material",
    "OutlierTest",
    "ReferenceLiquid",
    "RobustEstimate",
    "Scores",
    "Series",
    "Verification",
    "agree",
    "agree_means",
    "algorithm_a",
    "bibliography",
    "chart_cusum",
    "chart_ewma",
    "chart_individuals",
    "chart_subgroups",
    "evaluate_material",
    "limits_around",
    "mean_difference_limit_c",
    "normality_of",
    "q_and_hampel",
    "range_factor",
    "reference_liquids",
    "resolution_of",
    "scores",
    "series_of",
    "single_laboratory_reproducibility_c",
    "site_repeatability",
    "site_to_method_ratio",
    "verification_limit_c",
    "verify",
]
