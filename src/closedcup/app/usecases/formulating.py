"""How much of a liquid a blend may hold or needs, and what evaporation makes of a sample."""

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from closedcup.app.usecases.blending import (
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
from closedcup.mixtures import Blend, blend, find
from closedcup.mixtures.evaporation import evaporate
from closedcup.mixtures.formulation import Share, least_share, most_share
from closedcup.quantities import Amount, Limit, Temperature

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
        "at_limit": _as_json(found),
        "clause": rule.clause,
        "provided": list(rule.provided),
    }
    try:
        answer["with_margin"] = _as_json(
            search(made, start, end, limit.corrected_c + rule.margin_c)
        )
    except Refused as refused:
        answer |= {"with_margin": None, "with_margin_refused": refused.what}
    reached = made.at((1 - found.share) * start + found.share * end)
    return answer | {"warnings": warnings(made, reached)}


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


def _as_json(found: Share) -> dict[str, Any]:
    return {
        "limit_c": found.limit_c,
        "share": round(found.share, 4),
        "flash_point_c": number(found.flash_c),
        "unbounded": found.unbounded,
    }
