"""Statistics of a laboratory's figures: agreement, verification, charts, outliers, uncertainty.

Here: values in, values out, with r and R given. Never here: decisions about a release, storage,
the numbers of a test method.
"""

from closedcup.metrology.agreement import (
    Agreement,
    agree,
    agree_means,
    mean_difference_limit_c,
    require_precision_order,
)
from closedcup.metrology.between_groups import BetweenGroups, between_groups
from closedcup.metrology.budget import Propagated, propagate, second_order_uncertainty
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
from closedcup.metrology.control_charts import LEAST_POINTS, USUAL_BASE, Limits, limits_around
from closedcup.metrology.inputs import DISTRIBUTIONS, Input, Model, within
from closedcup.metrology.interlaboratory import Material, evaluate_material
from closedcup.metrology.line_fit import Line, fit_line
from closedcup.metrology.monte_carlo import Simulated, simulate
from closedcup.metrology.normality import anderson_darling
from closedcup.metrology.outliers import OutlierTest, dixon, generalised_deviates, grubbs
from closedcup.metrology.robust import (
    RobustEstimate,
    algorithm_a,
    q_and_hampel,
    q_deviation,
    qn_deviation,
    sn_deviation,
)
from closedcup.metrology.rounded import rounded_pair
from closedcup.metrology.run_rules import RULES, ZONE_RULES
from closedcup.metrology.scores import Scores, scores
from closedcup.metrology.site_precision import site_repeatability, site_to_method_ratio
from closedcup.metrology.summary import neighbour_correlation, univariate
from closedcup.metrology.tables import (
    ReferenceLiquid,
    bibliography,
    range_factor,
    reference_liquids,
)
from closedcup.metrology.top_down import (
    TopDown,
    from_history,
    from_reproducibility,
    reconciled,
)
from closedcup.metrology.verification import (
    Verification,
    single_laboratory_reproducibility_c,
    verification_limit_c,
    verify,
)
from closedcup.metrology.working_standard import WorkingStandard, working_standard

__all__ = [
    "DISTRIBUTIONS",
    "LEAST_POINTS",
    "RULES",
    "USUAL_BASE",
    "ZONE_RULES",
    "Agreement",
    "BetweenGroups",
    "Chart",
    "Input",
    "Limits",
    "Line",
    "Material",
    "Model",
    "OutlierTest",
    "Propagated",
    "ReferenceLiquid",
    "RobustEstimate",
    "Scores",
    "Series",
    "Simulated",
    "TopDown",
    "Verification",
    "WorkingStandard",
    "agree",
    "agree_means",
    "algorithm_a",
    "anderson_darling",
    "between_groups",
    "bibliography",
    "chart_cusum",
    "chart_ewma",
    "chart_individuals",
    "chart_subgroups",
    "dixon",
    "evaluate_material",
    "fit_line",
    "from_history",
    "from_reproducibility",
    "generalised_deviates",
    "grubbs",
    "limits_around",
    "mean_difference_limit_c",
    "neighbour_correlation",
    "normality_of",
    "propagate",
    "q_and_hampel",
    "q_deviation",
    "qn_deviation",
    "range_factor",
    "reconciled",
    "reference_liquids",
    "require_precision_order",
    "resolution_of",
    "rounded_pair",
    "scores",
    "second_order_uncertainty",
    "series_of",
    "simulate",
    "single_laboratory_reproducibility_c",
    "site_repeatability",
    "site_to_method_ratio",
    "sn_deviation",
    "univariate",
    "verification_limit_c",
    "verify",
    "within",
    "working_standard",
]
