"""Lines and maps of the flash point over blends of two or three liquids: calculated, all of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from closedcup.classification import Evidence
from closedcup.classification.regimes import find_regime
from closedcup.errors import InputError
from closedcup.mixtures import BASES, Basis, PairParameters, find
from closedcup.mixtures.interval import INERT_RICH
from closedcup.mixtures.line import line
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.sweep import NOT_A_TEST, Sweep, Swept, sweep
from closedcup.mixtures.sweep_notes import INERT, THIRD, marks
from closedcup.mixtures.ternary_map import contour, ternary_map
from closedcup.quantities import Temperature

# Whose class boundaries a line or map shows unless levels are given.
REGIME: Final = "GHS"


@dataclass(frozen=True, slots=True)
class Choices:
    """How blends are declared and solved."""

    basis: str = "mole"
    activity: str = "default"
    parameters: PairParameters | None = None
    own: Mapping[str, Liquid] | None = None


def class_limits_c(regime: str = REGIME) -> list[float]:
    """Return the flash points at which a regime's table changes class, lowest first."""
    limits = {
        limit.corrected_c
        for row in find_regime(regime).rows
        if row.kind == "base"
        for condition in row.when
        if (limit := condition.flash_limit(Evidence())) is not None
    }
    return sorted(limits)


def line_answer(
    names: tuple[str, str], *, levels: Sequence[Temperature], points: int, choices: Choices
) -> dict[str, Any]:
    """Return the object of `closedcup line`."""
    if not 3 <= points <= 10_001:
        raise InputError(
            "points-impossible",
            f"A line of {points} points cannot be drawn.",
            where="points",
            fix="Give 3 to 10001.",
        )
    made = ready(names, choices)
    levels_c = _levels_c(levels)
    along = line(made, *np.eye(2), levels_c=levels_c, points=points)
    answer = heading(made, choices) | {
        "levels_c": levels_c,
        "points": [
            {"share": round(float(share), 6), **point}
            for share, point in zip(along.shares, point_rows(along.swept), strict=True)
        ],
        "minimum": None,
        "crossings": [
            {"level_c": each.level_c, "share": round(each.share, 4), "rising": each.rising}
            for each in along.crossings
        ],
        "warnings": warnings(made, along.swept),
    }
    if along.minimum is not None:
        share, lowest_c = along.minimum
        answer["minimum"] = {"share": round(share, 4), "flash_point_c": round(lowest_c, 3)}
    return answer


def map_answer(
    names: tuple[str, str, str], *, levels: Sequence[Temperature], steps: int, choices: Choices
) -> dict[str, Any]:
    """Return the object of `closedcup map`."""
    made = ready(names, choices)
    found = ternary_map(made, steps=steps)
    levels_c = _levels_c(levels)
    return heading(made, choices) | {
        "steps": found.steps,
        "levels_c": levels_c,
        "contours": [
            {"level_c": level_c, "pieces": contour(found, level_c).round(5).tolist()}
            for level_c in sorted({*levels_c, *_round_levels_c(found.swept.flash_c)})
        ],
        "points": [
            {"shares": [round(float(share), 6) for share in amounts], **point}
            for amounts, point in zip(found.amounts, point_rows(found.swept), strict=True)
        ],
        "lowest": {
            "shares": [round(float(share), 4) for share in found.lowest],
            "flash_point_c": number(found.lowest_c),
            "below_all_three": found.below_pures,
        },
        "warnings": warnings(made, found.swept),
    }


def ready(names: Sequence[str], choices: Choices) -> Sweep:
    """Make liquids ready to be solved; InputError for one named twice or an unknown basis."""
    return ready_liquids([find(name, own=choices.own) for name in names], choices)


def ready_liquids(liquids: Sequence[Liquid], choices: Choices) -> Sweep:
    """Make liquids ready to be solved; see `ready`."""
    refuse_repeats(liquids)
    return sweep(
        liquids,
        basis=basis_of(choices),
        activity=choices.activity,
        parameters=choices.parameters,
    )


def refuse_repeats(liquids: Sequence[Liquid]) -> None:
    """Refuse, by name, a liquid that was named twice (a synonym or CAS number counts)."""
    seen: set[str] = set()
    for liquid in liquids:
        if liquid.cas in seen:
            raise InputError(
                "component-repeated",
                f"{liquid.name} ({liquid.cas}) was named twice.",
                where="components",
                fix="Name each liquid once.",
            )
        seen.add(liquid.cas)


def basis_of(choices: Choices) -> Basis:
    """Return the basis chosen; InputError for a word that is none."""
    for basis in BASES:
        if choices.basis == basis:
            return basis
    raise InputError(
        "basis-unknown",
        f"“{choices.basis}” is not a basis of composition.",
        where="basis",
        fix=f"Use one of: {', '.join(BASES)}.",
    )


def heading(made: Sweep, choices: Choices) -> dict[str, Any]:
    """Return what every answer starts with: the liquids and how they were solved."""
    flash_c = made.flash_sum.flash_k - 273.15
    return {
        "basis": choices.basis,
        "activity": made.flash_sum.model.name,
        "liquids": [
            {"name": liquid.name, "cas": liquid.cas, "flash_point_c": number(own_c)}
            for liquid, own_c in zip(made.liquids, flash_c, strict=True)
        ],
    }


def point_rows(swept: Swept) -> list[dict[str, Any]]:
    """Return the flash point and the number of liquids at each point; no flash point is null."""
    return [
        {"flash_point_c": number(flash_c), "liquid_phases": int(phases)}
        for flash_c, phases in zip(swept.flash_c, swept.liquid_phases, strict=True)
    ]


def number(value: float) -> float | None:
    """Return a temperature to a thousandth of a degree; None where there is none."""
    return None if np.isnan(value) else round(float(value), 3)


def warnings(made: Sweep, swept: Swept) -> list[str]:
    """Return what must be known before an answer over many blends is used."""
    found = [NOT_A_TEST, *made.pure_warnings]
    inert = swept.mole_fractions[:, ~made.flash_sum.flammable].sum(axis=1)
    if ((inert >= INERT_RICH) & (inert < 1)).any():
        found.append(
            f"Above {INERT_RICH:.0%} of water by mole the constant flammable limit is reported to "
            "fail: the flash point may lie several degrees above the one calculated."
        )
    widened = [text for text, rows in marks(made, swept) if rows.any()]
    found += [f"In part of these blends: {text}." for text in widened if text not in (INERT, THIRD)]
    if (swept.liquid_phases > 1).any():
        several = "two or three" if (swept.liquid_phases > 2).any() else "two"
        found.append(
            f"Part of these blends are {several} liquids at their flash point; no measured table "
            "of such aqueous blends was at hand to check the model."
        )
    if swept.third.any():
        found.append("Some of these blends may be three liquids; they were solved on two.")
    if np.isnan(swept.flash_c).any():
        found.append("Where no flash point is given, none can be calculated; test to boiling.")
    return found


def _round_levels_c(flash_c: NDArray[np.float64]) -> list[float]:
    """Return round levels between the lowest and highest flash point, ten or fewer."""
    if np.isnan(flash_c).all():
        return []
    low, high = float(np.nanmin(flash_c)), float(np.nanmax(flash_c))
    step = next((step for step in (1, 2, 5, 10, 20) if (high - low) / step <= 10), 50)
    return [float(level) for level in range(int(low // step) * step, int(high) + 1, step)]


def _levels_c(levels: Sequence[Temperature]) -> list[float]:
    return sorted(level.c for level in levels) or class_limits_c()
