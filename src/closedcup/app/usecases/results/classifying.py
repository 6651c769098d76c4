"""What a flash point means, regime by regime: answers, chances, and the picture of them."""

import json
import math
from dataclasses import replace
from functools import lru_cache
from typing import Any, Final

from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.classification import Band, Chance, Evidence, bands, classify, in_question
from closedcup.conformity import spread_from_reproducibility
from closedcup.errors import Refused
from closedcup.methods import PRODUCTS, method, methods, precision_at
from closedcup.quantities import round_half_up
from closedcup.reports import chart_of_shown, svg

Answer = dict[str, Any]

_UNNAMED_METHOD_STEP_C: Final = 0.5
"""Rounding where no method is named: the finest step to which these methods report."""
_COVERAGE: Final = 2.0


def classifications(
    evidence: Evidence,
    *,
    lookup: MethodLookup = method,
    good_practice: bool = True,
    all_on_file: bool = False,
) -> list[Answer]:
    """Say what a flash point means, regime by regime, with the chance of each class.

    Where a method is named, its rounding and its reproducibility are taken unless others are given.
    """
    completed = with_precision(evidence, lookup)
    return [
        answer.as_json()
        for answer in classify(completed, good_practice=good_practice, all_on_file=all_on_file)
    ]


def with_precision(evidence: Evidence, lookup: MethodLookup = method) -> Evidence:
    """Return the evidence with what the named method says of rounding and precision."""
    if evidence.flash_c is None or evidence.calculated:
        return evidence
    identifier, step_c = evidence.method_id, _UNNAMED_METHOD_STEP_C
    known: dict[str, Any] = {}
    if identifier is not None and _is_in_catalogue(identifier):
        chosen = lookup(identifier)
        step_c = chosen.rounding_step_c(step_c)
        product = evidence.product if evidence.product in PRODUCTS else None
        try:
            stated_c = precision_at(chosen, evidence.flash_c, product).reproducibility_c
        except Refused:  # none is stated here: no chance is given, and no class rests on one
            stated_c = None
        if stated_c is not None:
            known["reproducibility_c"] = evidence.reproducibility_c or stated_c
            if evidence.standard_uncertainty_c is None:
                spread = spread_from_reproducibility(stated_c)
                known["standard_uncertainty_c"] = spread.standard_c
    if evidence.reported_c is None:
        known["reported_c"] = round_half_up(evidence.flash_c, step_c)
    return replace(evidence, **known)


def _is_in_catalogue(identifier: str | None) -> bool:
    return any(identifier == each.id for each in methods())


def regimes_shown(
    evidence: Evidence, *, lookup: MethodLookup = method, all_on_file: bool = False
) -> Answer:
    """Return the regimes side by side: every class with its limits, the result and its interval."""
    completed = with_precision(evidence, lookup)
    answers = {each.regime: each for each in classify(completed, all_on_file=all_on_file)}
    return {
        **_shown(completed),
        "lines": [
            {
                "name": regime.name,
                "answer": _answer_words(
                    answers[regime.name].classification, answers[regime.name].chances
                ),
                "bands": [_band(band) for band in bands(regime, completed)],
            }
            for regime in in_question(completed, all_on_file=all_on_file)
        ],
    }


def _band(band: Band) -> Answer:
    return {
        "classification": band.classification,
        "severity": round(band.severity, 4),
        "low_c": _finite(band.low_c),
        "high_c": _finite(band.high_c),
        "high_belongs": band.high_belongs,
        "high_limit": band.high_limit,
    }


def _finite(end_c: float) -> float | None:
    return round(end_c, 6) if math.isfinite(end_c) else None


def regimes_picture(
    evidence: Evidence, *, lookup: MethodLookup = method, all_on_file: bool = False
) -> str:
    """Return the SVG of the regimes side by side with the result, its interval and the chances."""
    shown = regimes_shown(evidence, lookup=lookup, all_on_file=all_on_file)
    return _drawn(json.dumps(chart_of_shown(shown), sort_keys=True))


@lru_cache(maxsize=64)
def _drawn(spec: str) -> str:
    """Draw a spec; a page that is looked at again costs nothing."""
    return svg(json.loads(spec))


def _answer_words(classification: str, chances: tuple[Chance, ...]) -> str:
    for one in chances:
        if one.classification == classification:
            return f"{classification} ({share_words(one.probability)})"
    return classification


def share_words(share: float) -> str:
    """Write a chance in whole percent, never as the certainty that it is not."""
    if share > 0.995:
        return "> 99 %"
    return "< 1 %" if share < 0.005 else f"{share * 100:.0f} %"


def _shown(evidence: Evidence) -> Answer:
    value_c, standard_c = evidence.flash_c, evidence.standard_uncertainty_c
    if value_c is None:
        low_c, high_c = evidence.flash_bracket()
        ends = [
            *([f"above {low_c:g} °C"] if math.isfinite(low_c) else []),
            *([f"at or below {high_c:g} °C"] if math.isfinite(high_c) else []),
        ]
        words = f"Flash point {' and '.join(ends)}"
        return _placed(words, None, _finite(low_c), _finite(high_c))
    kind = "Calculated" if evidence.calculated else "Result"
    if standard_c is None:
        return _placed(f"{kind} {value_c:g} °C, uncertainty not known", value_c, None, None)
    expanded_c = _COVERAGE * standard_c
    words = f"{kind} {round(value_c, 3):g} °C ± {expanded_c:.1f} °C (k = 2)"
    return _placed(words, value_c, round(value_c - expanded_c, 4), round(value_c + expanded_c, 4))


def _placed(words: str, value_c: float | None, low_c: float | None, high_c: float | None) -> Answer:
    return {"words": words, "value_c": value_c, "low_c": low_c, "high_c": high_c}
