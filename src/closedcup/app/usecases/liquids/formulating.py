"""How much of a liquid a blend may hold or needs, and what evaporation makes of a sample."""

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.liquids.blending import (
    Choices,
    basis_of,
    heading,
    number,
    point_rows,
    ready_liquids,
    warnings,
)
from closedcup.classification.calculation import calculation_rule
from closedcup.errors import InputError, Refused
from closedcup.mixtures import Blend, blend, estimate, find
from closedcup.mixtures.evaporation import evaporate
from closedcup.mixtures.formulation import Share, least_share, most_share
from closedcup.mixtures.sweep import Sweep
from closedcup.quantities import Amount, Limit, Temperature

Array = NDArray[np.float64]

_LEFT_OUT: Final = (
    "From an open vessel at one temperature, in dry air; cooling, a skin and unequal diffusion "
    "are left out, and in moist air water leaves more slowly."
)


def formulate_answer(
    amounts: Sequence[Amount],
    *,
    most: str | None,
    least: str | None,
    limit: Limit,
    choices: Choices,
) -> dict[str, Any]:
    """Return the object of `closedcup formulate`: the most, or the least, of a liquid in a blend.

    Two shares are given: at the limit itself, and with the published margin above it, below which
    a calculation may not decide a class.
    """
    wanted, added = _wanted(most, least)
    _require_lower(limit)
    base = blend(amounts, basis=basis_of(choices), own=choices.own)
    _refuse_resin(base)
    extra = find(added, where=wanted, own=choices.own)
    kept = [
        (liquid, amount)
        for liquid, amount in zip(base.liquids, base.declared, strict=True)
        if liquid.cas != extra.cas
    ]
    if not kept:
        raise InputError(
            "nothing-to-add-to",
            f"The blend is {extra.name} already.",
            where="components",
            fix="Name the other liquids of the blend with -c.",
        )
    made = ready_liquids([*(liquid for liquid, _ in kept), extra], choices)
    start = np.array([*(amount for _, amount in kept), 0.0])
    start, end = start / start.sum(), np.eye(len(start))[-1]
    search = most_share if wanted == "most" else least_share
    rule = calculation_rule()
    found = search(made, start, end, limit.corrected_c)
    answer = heading(made, choices) | {
        "added": extra.name,
        "wanted": wanted,
        "limit": str(limit),
        "margin_c": rule.margin_c,
        "at_limit": _as_json(found, wanted) | _interval(made, start, end, found, choices),
        "clause": rule.clause,
        "provided": list(rule.provided),
    }
    try:
        safer = search(made, start, end, limit.corrected_c + rule.margin_c)
        interval = _interval(made, start, end, safer, choices)
        answer["with_margin"] = _as_json(safer, wanted) | interval
    except Refused as refused:
        answer |= {"with_margin": None, "with_margin_refused": refused.what}
    reached = made.at((1 - found.share) * start + found.share * end)
    return answer | {"warnings": [*warnings(made, reached), *_still_below(answer, limit)]}


def evaporate_answer(
    amounts: Sequence[Amount], *, at: Temperature, lost: Sequence[float], choices: Choices
) -> dict[str, Any]:
    """Return the object of `closedcup evaporate`: blend and flash point as shares of mass leave."""
    start = blend(amounts, basis=basis_of(choices), own=choices.own)
    _refuse_resin(start)
    made = ready_liquids(start.liquids, choices)
    found = evaporate(made, np.array(start.mole_fractions), at.c, [0.0, *lost])
    first_c = found.swept.flash_c[0]
    return heading(made, choices) | {
        "at_c": at.c,
        "points": [
            {
                "lost_mass_fraction": round(float(share), 6),
                **point,
                "change_c": number(flash_c - first_c),
                "mass_fractions": [round(float(part), 6) for part in masses],
            }
            for share, point, flash_c, masses in zip(
                found.lost,
                point_rows(found.swept),
                found.swept.flash_c,
                found.mass_fractions,
                strict=True,
            )
        ],
        "warnings": [
            *warnings(made, found.swept),
            _LEFT_OUT,
        ],
    }


def _refuse_resin(start: Blend) -> None:
    if start.involatile is not None:
        raise Refused(
            "resin-not-followed",
            "A resin or another involatile part is not carried through a formulation or an "
            "evaporation.",
            where="components",
            fix="Ask for the solvents alone; “closedcup estimate” takes the resin in.",
        )


def _wanted(most: str | None, least: str | None) -> tuple[str, str]:
    if most is not None and least is None:
        return "most", most
    if least is not None and most is None:
        return "least", least
    raise InputError(
        "most-or-least",
        "Say either the most or the least of which liquid is wanted.",
        where="added liquid",
        fix="Give --most NAME or --least NAME.",
    )


def _require_lower(limit: Limit) -> None:
    if limit.operator not in (">", ">="):
        raise InputError(
            "limit-from-above",
            f"“{limit}” keeps a flash point low; a formulation keeps it at or above a limit.",
            where="limit",
            fix="Write, for example, “>=60 degC”.",
        )


def _as_json(found: Share, wanted: str) -> dict[str, Any]:
    return {
        "limit_c": found.limit_c,
        "share": _safe_side(found.share, wanted),
        "flash_point_c": number(found.flash_c),
        "unbounded": found.unbounded,
    }


def _still_below(answer: dict[str, Any], limit: Limit) -> list[str]:
    """Say where even with the margin the interval reaches below the limit."""
    safer = answer["with_margin"]
    if safer is None or safer["low_c"] is None or safer["low_c"] >= limit.corrected_c:
        return []
    text = (
        f"Even with the margin the interval reaches down to {safer['low_c']:.1f} °C, below "
        f"{limit.corrected_c:g} °C: only a test decides."
    )
    return [text]


def _safe_side(share: float, wanted: str) -> float:
    """Round a share to four digits to the side that keeps the limit."""
    if not 0 < share < 1:
        return share
    scale = 10.0 ** (3 - math.floor(math.log10(share)))
    rounded = math.floor(share * scale) if wanted == "most" else math.ceil(share * scale)
    return min(rounded / scale, 1.0)


def _interval(
    made: Sweep, start: Array, end: Array, found: Share, choices: Choices
) -> dict[str, float | None]:
    """Return the estimate's interval for the blend with the share found."""
    amounts = (1 - found.share) * start + found.share * end
    held = np.flatnonzero(amounts > 0)
    mixed = Blend(
        liquids=tuple(made.liquids[i] for i in held),
        mole_fractions=tuple(made.mole_fractions(amounts)[0, held].tolist()),
        basis=made.basis,
        declared=tuple(amounts[held].tolist()),
    )
    try:
        whole = estimate(mixed, activity=choices.activity, parameters=choices.parameters)
    except Refused:
        return {"low_c": None, "high_c": None}
    return {"low_c": number(whole.low_c), "high_c": number(whole.high_c)}
