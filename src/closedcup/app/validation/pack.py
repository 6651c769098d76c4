"""The whole pack of comparisons, and how much of it is known by reading."""

from typing import Any, Final

from closedcup.app.validation.comparison import Comparison

PRINTED: Final = (
    "quantities.temperature.parse_temperature",
    "quantities.temperature.parse_difference",
    "quantities.pressure.parse_pressure",
    "quantities.pressure.standard_pressure_kpa",
    "quantities.rounding.round_half_up",
    "mixtures.blend.blend",
    "mixtures.consensus.consensus",
    "mixtures.vapour_pressure.vapour_pressure_kpa",
    "mixtures.pure_estimates.catoire_naudet",
    "mixtures.pure_estimates.prugh",
    "mixtures.pure_estimates.class_linear",
    "mixtures.pure_estimates.saturation_at_limit",
    "mixtures.pure_estimates.saturation_at_half_stoichiometric",
    "mixtures.pure_estimates.temperature_k",
    "mixtures.activity.unifac.Unifac",
    "mixtures.activity.dortmund.Dortmund",
    "mixtures.phase_split.split",
    "mixtures.flash_point.flash_points_c",
    "mixtures.estimate.estimate",
    "mixtures.monte_carlo.interval_c",
    "mixtures.estimate.cup_scale_c",
    "mixtures.line.line",
    "mixtures.ternary_map.ternary_map",
    "mixtures.formulation.most_share",
    "mixtures.formulation.least_share",
    "mixtures.evaporation.evaporate",
    "mixtures.fuels.fuel_flashes",
    "mixtures.blending_index.contamination",
    "methods.barometer.correction_c",
    "methods.correction.correct",
    "methods.setpoint.set_point",
    "methods.precision.repeatability_c",
    "methods.precision.reproducibility_c",
    "methods.procedure.instruction",
    "methods.repeats.judge_repeats",
    "metrology.verification.verify",
    "metrology.agreement.agree",
    "metrology.agreement.agree_means",
    "metrology.control_charts.individuals_limits",
    "metrology.control_charts.moving_range_limits",
    "metrology.control_charts.subgroup_charts",
    "metrology.ewma.ewma",
    "metrology.cusum.cusum",
    "metrology.run_rules.rule_hits",
    "metrology.normality.anderson_darling",
    "metrology.censored.estimate_from_brackets",
    "metrology.interlaboratory.evaluate_material",
    "metrology.outliers.grubbs",
    "metrology.robust.algorithm_a",
    "metrology.robust.q_and_hampel",
    "metrology.robust.q_deviation",
    "metrology.robust.qn_deviation",
    "metrology.robust.sn_deviation",
    "metrology.scores.scores",
    "metrology.budget.propagate",
    "metrology.budget.second_order_uncertainty",
    "metrology.monte_carlo.simulate",
    "metrology.line_fit.fit_line",
    "metrology.summary.univariate",
    "metrology.rounded.rounded_pair",
    "metrology.traces.heating_rate.heating_rate",
    "metrology.traces.change_point.locate_change",
    "planning.starting.starting_temperature",
    "planning.specimens.specimens_as_written",
    "planning.observing.scatter_from_repeatability",
    "planning.ordered_search.entropy_bits",
    "planning.simulation.best_possible_specimens",
    "planning.simulation.simulate",
    "classification.evaluate.classify_regime",
    "conformity.decision.decide",
    "conformity.decision.probability_of_meeting",
    "conformity.spread.spread_from_reproducibility",
    "conformity.rules.guard_for_risk",
    "conformity.process.global_risks",
    "conformity.laboratories.mean_reproducibility_c",
    "conformity.laboratories.assigned_value",
    "conformity.laboratories.acceptance_for_probability",
    "records.canonical.canonical_bytes",
    "records.chain.digest",
)
"""The functions behind the numbers that commands, pages and reports print."""


def all_comparisons() -> list[Comparison]:
    """Make every comparison."""
    from closedcup.app.validation import (
        blends,
        certified,
        charts,
        classification,
        conformity,
        interlaboratory,
        liquids,
        methods,
        metrology,
        mixtures,
        planning,
        quantities,
        records,
        traces,
        uncertainty,
        whole_tables,
    )

    parts = (
        quantities,
        mixtures,
        liquids,
        blends,
        methods,
        metrology,
        charts,
        interlaboratory,
        whole_tables,
        uncertainty,
        traces,
        certified,
        planning,
        classification,
        conformity,
        records,
    )
    return [comparison for part in parts for comparison in part.comparisons()]


def run_validation() -> dict[str, Any]:
    """Return all comparisons with the share that agrees and the share known by reading."""
    made = all_comparisons()
    read = sum(comparison.known == "read" for comparison in made)
    return {
        "comparisons": [
            {
                **comparison.as_json(),
                "shown": _shown(comparison.computed),
                "agrees": "yes" if comparison.within else "NO",
            }
            for comparison in made
        ],
        "count": len(made),
        "within": sum(comparison.within for comparison in made),
        "share_read": read / len(made),
        "functions": len({comparison.function for comparison in made}),
    }


def _shown(computed: float | str) -> str:
    return computed if isinstance(computed, str) else f"{computed:.6g}"
