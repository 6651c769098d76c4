"""A round among sites: from a table of results to r and R, outliers and scores."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan
from typing import Any, Final

from closedcup.app.usecases.comma_separated import Row, column_among, decimal_in, read_rows
from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.errors import InputError, Refused
from closedcup.methods import Method, method, precision_at
from closedcup.metrology import (
    Material,
    OutlierTest,
    RobustEstimate,
    algorithm_a,
    evaluate_material,
    q_and_hampel,
    q_deviation,
    qn_deviation,
    scores,
    sn_deviation,
)

Answer = dict[str, Any]

_RESULT: Final = ("result_c", "value_c", "value", "result")
_ESTIMATES: Final = {"algorithm-a": algorithm_a, "q-hampel": q_and_hampel}


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Results that a decision keeps out of r and R; `material` empty for all of a site's."""

    site: str
    material: str
    reason: str

    def covers(self, site: str, material: str) -> bool:
        """Say whether a site's results on a material are left out."""
        return self.site == site and self.material in {"", material}


def typed_left_out(text: str) -> LeftOut:
    """Read "SITE=reason" or "SITE:MATERIAL=reason"; InputError without a reason."""
    who, _, reason = text.partition("=")
    if not reason.strip():
        raise InputError(
            "reason-missing",
            f"“{text}” leaves results out without a reason.",
            where="leave-out",
            fix="Write SITE=reason or SITE:MATERIAL=reason.",
        )
    site, _, material = who.partition(":")
    return LeftOut(site.strip(), material.strip(), reason.strip())


def evaluate_round(
    path: str,
    *,
    left_out: Sequence[LeftOut] = (),
    estimate: str = "algorithm-a",
    deviation_c: float | None = None,
    method_id: str | None = None,
    lookup: MethodLookup = method,
) -> Answer:
    """Return the object that `closedcup interlaboratory` prints.

    The CSV file has the columns site (or laboratory), material where there are several, result_c,
    and where wanted method and uncertainty_c (standard, of the site's mean). `deviation_c` is σ
    for the scores, the robust s* unless given. Raises InputError for mixed methods or a left-out
    site that is not in the table.
    """
    if estimate not in _ESTIMATES:
        raise InputError(
            "estimate-unknown",
            f"There is no robust estimate “{estimate}”.",
            where="robust",
            fix=f"One of: {', '.join(_ESTIMATES)}.",
        )
    rows = read_rows(path)
    _refuse_mixed_methods(rows, method_id)
    chosen = None if method_id is None else lookup(method_id)
    table, uncertainties = _tabulated(rows, path)
    sites = {site for of_material in table.values() for site in of_material}
    for each in left_out:
        if each.site not in sites or (each.material and each.material not in table):
            raise InputError(
                "left-out-unknown",
                f"The table holds no results of {each.site} {each.material}".rstrip() + ".",
                where="leave-out",
                fix=f"Sites: {', '.join(sorted(sites))}.",
            )
    return {
        "materials": [
            _material_answer(name, of_site, left_out, chosen) for name, of_site in table.items()
        ],
        "scores": [
            entry
            for name, of_site in table.items()
            for entry in _scores(name, of_site, uncertainties, estimate, deviation_c)
        ],
        "left_out": [
            {"site": each.site, "material": each.material or None, "reason": each.reason}
            for each in left_out
        ],
        "robust": estimate,
    }


def _refuse_mixed_methods(rows: Sequence[Row], method_id: str | None) -> None:
    named = {row.get("method", "") for row in rows} | ({method_id} if method_id else set())
    named.discard("")
    if len(named) > 1:
        raise InputError(
            "mixed-methods",
            f"A round tests one method; the table holds {', '.join(sorted(named))}.",
            where="column method",
            fix="Evaluate each method by itself.",
        )


Table = dict[str, dict[str, list[float]]]


def _tabulated(rows: Sequence[Row], path: str) -> tuple[Table, dict[tuple[str, str], float]]:
    site_column = column_among(rows, ("site", "laboratory"), where=path)
    column = column_among(rows, _RESULT, where=path)
    table: Table = {}
    uncertainties: dict[tuple[str, str], float] = {}
    for line, row in enumerate(rows, start=1):
        material, site = row.get("material", "") or "material", row[site_column]
        if not site:
            raise InputError("site-missing", "The row names no site.", where=f"row {line}")
        if row[column]:
            result = float(decimal_in(row, column, line=line))
            table.setdefault(material, {}).setdefault(site, []).append(result)
        if row.get("uncertainty_c"):
            uncertainties[material, site] = float(decimal_in(row, "uncertainty_c", line=line))
    return table, uncertainties


def _material_answer(
    name: str,
    of_site: dict[str, list[float]],
    left_out: Sequence[LeftOut],
    chosen: Method | None,
) -> Answer:
    kept = {
        site: results
        for site, results in of_site.items()
        if not any(each.covers(site, name) for each in left_out)
    }
    found = evaluate_material(kept)
    return {
        "material": name,
        "sites": list(found.laboratories),
        "results": int(found.counts.sum()),
        "mean_c": found.mean,
        "deviation_of_means_c": found.deviation_of_means,
        "repeatability_deviation_c": found.repeatability_deviation,
        "between_deviation_c": found.between_deviation,
        "reproducibility_deviation_c": found.reproducibility_deviation,
        "repeatability_c": found.repeatability,
        "reproducibility_c": found.reproducibility,
        "robust_deviations_c": _robust_deviations(found),
        "h": found.h.tolist(),
        "h_critical": found.h_critical,
        "k": None if found.k is None else [None if isnan(k) else float(k) for k in found.k],
        "k_critical": found.k_critical,
        "tests": [
            _test_answer(test, side, found)
            for test, side in (
                (found.cochran, "scatter"),
                (found.grubbs_high, "highest mean"),
                (found.grubbs_low, "lowest mean"),
            )
            if test is not None
        ],
        **({} if chosen is None else _beside_method(found, chosen)),
    }


def _robust_deviations(found: Material) -> dict[str, float]:
    """Return standard deviations of the sites' means that a few far ones do not spoil."""
    ways = {"q": q_deviation, "qn": qn_deviation, "sn": sn_deviation}
    return {name: way(found.means) for name, way in ways.items()} if found.h.any() else {}


def _test_answer(test: OutlierTest, of: str, found: Material) -> Answer:
    return {
        "test": test.test,
        "of": of,
        "site": found.laboratories[test.position],
        "statistic": test.statistic,
        "critical_5_percent": test.critical_5,
        "critical_1_percent": test.critical_1,
        "standing": test.standing,
    }


def _beside_method(found: Material, chosen: Method) -> Answer:
    """Return the round's r and R over those that the method states at the mean."""
    try:
        stated = precision_at(chosen, found.mean)
    except Refused as reason:
        return {"method_note": reason.what}
    ratio: Answer = {}
    if found.repeatability is not None:
        ratio["r_over_method_r"] = found.repeatability / stated.repeatability_c
    if stated.reproducibility_c is not None:
        ratio["R_over_method_R"] = found.reproducibility / stated.reproducibility_c
    return ratio


def _scores(
    name: str,
    of_site: dict[str, list[float]],
    uncertainties: dict[tuple[str, str], float],
    estimate: str,
    deviation_c: float | None,
) -> list[Answer]:
    """Score each site's mean against the robust mean of all."""
    means = {site: sum(results) / len(results) for site, results in of_site.items()}
    assigned: RobustEstimate = _ESTIMATES[estimate](list(means.values()))
    sigma = assigned.deviation if deviation_c is None else deviation_c
    entries = []
    for site, mean in means.items():
        found = scores(
            mean,
            assigned=assigned.mean,
            assigned_uncertainty=assigned.uncertainty,
            deviation=sigma,
            result_uncertainty=uncertainties.get((name, site)),
        )
        entries.append(
            {
                "material": name,
                "site": site,
                "mean_c": mean,
                "assigned_c": assigned.mean,
                "assigned_uncertainty_c": assigned.uncertainty,
                "deviation_c": sigma,
                "z": found.z,
                "z_prime": found.z_prime,
                "zeta": found.zeta,
                "en": found.en,
                "standing": found.standing,
                "judged_by": "z" if found.uncertainty_negligible else "z′",
            }
        )
    return entries
