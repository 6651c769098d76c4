"""Outliers, rounds among laboratories, robust estimates and scores beside published figures."""

from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.published import compared, series
from closedcup.metrology.interlaboratory import Material, evaluate_material
from closedcup.metrology.outliers import (
    cochran_critical,
    dixon,
    farthest_share,
    farthest_share_critical,
    generalised_deviates,
    grubbs,
    grubbs_critical,
    grubbs_probability,
    mandel_h_critical,
    mandel_k_critical,
)
from closedcup.metrology.robust import (
    EXACT_CORRECTION,
    algorithm_a,
    hampel_mean,
    q_and_hampel,
    q_deviation,
    qn_deviation,
    sn_deviation,
)
from closedcup.metrology.scores import scores
from closedcup.sources import load_bibliography, load_rows

Figures = dict[tuple[str, str], float | str]


def comparisons() -> list[Comparison]:
    """Compare with `data/interlaboratory_figures.csv`."""
    computed = {**_outliers(), **_criticals(), **_rounds(), **_robust(), **_scores()}
    return compared("interlaboratory_figures.csv", computed)


def _outliers() -> Figures:
    isotopes, heat = grubbs(series("uranium isotopes")), grubbs(series("heat flow"))
    several = generalised_deviates(series("fifty-four values"), most=10)
    gap = dixon(series("ten fractions"))
    figures: Figures = {
        ("uranium isotopes", "G"): isotopes.statistic,
        ("uranium isotopes", "suspect"): isotopes.value,
        ("uranium isotopes", "critical, one-sided 5 %"): grubbs_critical(8, 0.05, one_sided=True),
        ("uranium isotopes", "p"): grubbs_probability(isotopes.statistic, 8),
        ("heat flow", "G"): heat.statistic,
        ("heat flow", "p of G"): grubbs_probability(heat.statistic, 195),
        ("semi-diameters", "E"): farthest_share(series("semi-diameters"), 2),
        ("semi-diameters", "critical E 5 %"): farthest_share_critical(15, 2, 0.05),
        ("fifty-four values", "outliers"): float(several.count),
        ("ten fractions", "Q"): gap.statistic,
        ("ten fractions", "standing"): gap.standing,
    }
    for place in range(3):
        figures["fifty-four values", f"R{place + 1}"] = float(several.statistics[place])
        figures["fifty-four values", f"λ{place + 1}"] = float(several.criticals[place])
    return figures


def _criticals() -> Figures:
    figures: Figures = {
        ("Mandel", "h, 8 laboratories, 0.5 %"): mandel_h_critical(8, 0.005),
        ("Mandel", "k, 8 laboratories of 3, 0.5 %"): mandel_k_critical(8, 3, 0.005),
    }
    for n in (8, 9, 15, 16):
        for risk in (0.05, 0.01):
            figures["Grubbs", f"n = {n}, {risk:.0%}"] = grubbs_critical(n, risk)
    for p, n in ((8, 3), (9, 2), (16, 2)):
        for risk in (0.05, 0.01):
            figures["Cochran", f"p = {p}, n = {n}, {risk:.0%}"] = cochran_critical(p, n, risk)
    return figures


@cache
def evaluated(study: str, material: str, without: tuple[str, ...] = ()) -> Material:
    """Return the figures of one material of a published study, some laboratories left out."""
    folder = files("closedcup.app.validation") / "data"
    rows = load_rows(
        folder / "round_results.csv", load_bibliography(folder / "metrology_sources.csv")
    )
    results: Mapping[str, Sequence[float]] = {
        row["laboratory"]: [float(one) for one in row["results"].split()]
        for row in rows
        if (row["study"], row["material"]) == (study, material) and row["laboratory"] not in without
    }
    return evaluate_material(results)


_LEFT_OUT = {f"creosote, {level}": ("1",) for level in "1234"} | {"creosote, 5": ("1", "6")}
"""As the standard's own analysis leaves them out."""
_STUDIES = {
    "sulfur in coal": ("1", "2", "3", "4"),
    "softening point": ("1", "2", "3", "4"),
    "creosote": ("1", "2", "3", "4", "5"),
    "glucose": ("A", "D", "E"),
    "glucose as repaired": ("C",),
}


def _rounds() -> Figures:
    figures: Figures = {}
    for study, materials in _STUDIES.items():
        for material in materials:
            name = f"{study}, {material}"
            found = evaluated(study, material, _LEFT_OUT.get(name, ()))
            figures[name, "mean"] = found.mean
            figures[name, "s_r"] = found.repeatability_deviation or 0.0
            figures[name, "s_R"] = found.reproducibility_deviation
            if study.startswith("glucose"):
                figures[name, "deviation of means"] = found.deviation_of_means
                figures[name, "r"] = found.repeatability or 0.0
                figures[name, "R"] = found.reproducibility
            if study == "softening point" and found.cochran is not None:
                figures[name, "Cochran"] = found.cochran.statistic
    least = evaluated("glucose", "E")
    assert least.k is not None  # noqa: S101  (the study has repeats)
    figures["glucose, E", "h of laboratory 2"] = float(least.h[1])
    figures["glucose, E", "h of laboratory 7"] = float(least.h[6])
    figures["glucose, E", "k of laboratory 2"] = float(least.k[1])
    figures |= _before_exclusion()
    sulfur = evaluated("sulfur in coal", "1")
    figures["sulfur in coal, 1", "h of laboratory 6"] = float(sulfur.h[5])
    return figures


def _before_exclusion() -> Figures:
    third, fourth = evaluated("creosote", "3"), evaluated("creosote", "4")
    assert third.grubbs_high  # noqa: S101  (nine laboratories that differ)
    assert fourth.grubbs_high  # noqa: S101
    assert fourth.cochran  # noqa: S101  (with repeats)
    highest = third.laboratories[third.grubbs_high.position]
    widest = fourth.laboratories[fourth.cochran.position]
    name = "creosote before exclusion"
    return {
        (f"{name}, 3", "highest mean"): third.grubbs_high.statistic,
        (f"{name}, 4", "highest mean"): fourth.grubbs_high.statistic,
        (f"{name}, 4", "Cochran"): fourth.cochran.statistic,
        (f"{name}, 3", f"standing of laboratory {highest}"): third.grubbs_high.standing,
        (f"{name}, 4", f"standing of laboratory {widest}"): fourth.cochran.standing,
    }


def _robust() -> Figures:
    figures: Figures = {}
    for name in ("copper in flour", "nickel in syenite", "34 laboratories", "lead in wine"):
        values = series(name)
        printed, exact = algorithm_a(values), algorithm_a(values, correction=EXACT_CORRECTION)
        figures[name, "x*, Algorithm A"] = printed.mean
        figures[name, "s*, Algorithm A"] = printed.deviation
        figures[name, "x*, exact factor"] = exact.mean
        figures[name, "s*, exact factor"] = exact.deviation
        figures[name, "Qn"] = qn_deviation(values)
        if name != "nickel in syenite":
            figures[name, "Sn"] = sn_deviation(values)
        if name != "copper in flour":
            figures[name, "s*, Q method"] = q_deviation(values)
            figures[name, "x*, Hampel"] = q_and_hampel(values).mean
    figures["copper in flour", "x*, Hampel with s* 0.644694"] = hampel_mean(
        series("copper in flour"), 0.644694
    )
    return figures


def _scores() -> Figures:
    figures: Figures = {}
    for x, u, of_assigned in ((62.4, 0.5, 0.2), (59.0, 0.5, 0.2), (61.3, 0.8, 0.5)):
        found = scores(
            x,
            assigned=61.0,
            assigned_uncertainty=of_assigned,
            deviation=0.9,
            result_uncertainty=u,
        )
        name = f"participant {x:g}"
        figures[name, "z"] = found.z
        figures[name, "z′"] = found.z_prime
        figures[name, "ζ"] = found.zeta or 0.0
        figures[name, "Eₙ"] = found.en or 0.0
    return figures
