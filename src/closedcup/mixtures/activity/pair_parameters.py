"""Binary parameters that a laboratory brings for NRTL, Wilson or UNIQUAC.

A table (as read from TOML) names the model, its source, and one entry for each pair of liquids:

    model = "nrtl"
    source = "own fit to isobaric data, 2024"
    [[pair]]
    first = "ethanol"
    second = "water"
    a12 = 0.0
    b12_k = -55.2
    a21 = 0.0
    b21_k = 670.4
    alpha = 0.30

The interaction of i with j is a_ij + b_ij/T: τ of NRTL, ln Λ of Wilson, ln τ of UNIQUAC. UNIQUAC
takes sizes from `[[liquid]]` entries (name, r, q), else from the groups of UNIFAC.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError, Refused
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.names import find

Array = NDArray[np.float64]

PAIR_MODELS: Final = ("nrtl", "wilson", "uniquac")
_NUMBERS: Final = ("a12", "b12_k", "a21", "b21_k")


@dataclass(frozen=True, slots=True)
class PairParameters:
    """Parameters of one model, keyed by the CAS numbers of (i, j).

    `interactions` holds (a, b in kelvin), `alphas` the non-randomness of NRTL for both orders,
    `sizes` (r, q) of UNIQUAC by CAS number.
    """

    model: str
    source: str
    interactions: Mapping[tuple[str, str], tuple[float, float]]
    alphas: Mapping[tuple[str, str], float]
    sizes: Mapping[str, tuple[float, float]]

    def matrices(self, liquids: Sequence[Liquid]) -> tuple[Array, Array]:
        """Return a and b (kelvin) of every ordered pair; Refused, by name, where one is missing."""
        pairs = [[self._interaction(one, other) for other in liquids] for one in liquids]
        a, b_k = np.moveaxis(np.array(pairs), 2, 0)
        return a, b_k

    def alpha_matrix(self, liquids: Sequence[Liquid]) -> Array:
        """Return the non-randomness of every pair (NRTL)."""
        return np.array(
            [[self.alphas.get((one.cas, other.cas), 0.0) for other in liquids] for one in liquids]
        )

    def _interaction(self, one: Liquid, other: Liquid) -> tuple[float, float]:
        if one.cas == other.cas:
            return 0.0, 0.0
        found = self.interactions.get((one.cas, other.cas))
        if found is None:
            raise Refused(
                "activity-parameters-missing",
                f"The {self.model} parameters hold no pair of {one.name} and {other.name}.",
                where="parameters",
                fix="Add the pair to the file, or use a group-contribution model.",
            )
        return found


def parse_parameters(table: Mapping[str, Any]) -> PairParameters:
    """Check and take over a table of parameters; InputError says which entry is wrong."""
    model = str(table.get("model", ""))
    if model not in PAIR_MODELS:
        raise _wrong("model", f"one of {', '.join(PAIR_MODELS)}")
    source = str(table.get("source", "")).strip()
    if not source:
        raise _wrong("source", "where the parameters come from, in words")
    if not table.get("pair"):
        raise _wrong("pair", "at least one [[pair]] entry")
    interactions: dict[tuple[str, str], tuple[float, float]] = {}
    alphas: dict[tuple[str, str], float] = {}
    for number, entry in enumerate(table["pair"], start=1):
        where = f"pair {number}"
        i, j = (find(str(entry.get(key, "")), where=where).cas for key in ("first", "second"))
        if i == j or (i, j) in interactions:
            raise _wrong(where, "two different liquids, each pair once")
        a12, b12, a21, b21 = (_number(entry, key, where) for key in _NUMBERS)
        interactions |= {(i, j): (a12, b12), (j, i): (a21, b21)}
        if model == "nrtl":
            alpha = _number(entry, "alpha", where)
            # Published non-randomness lies between 0.1 and 0.5 (memory); beyond 1 it is a slip.
            if not 0 < alpha <= 1:
                raise _wrong(f"{where}, alpha", "a number above 0 and at most 1")
            alphas |= {(i, j): alpha, (j, i): alpha}
    sizes = {}
    for number, entry in enumerate(table.get("liquid", []), start=1):
        where = f"liquid {number}"
        r, q = _number(entry, "r", where), _number(entry, "q", where)
        if r <= 0 or q <= 0:
            raise _wrong(where, "r and q above zero")
        sizes[find(str(entry.get("name", "")), where=where).cas] = (r, q)
    return PairParameters(model, source, interactions, alphas, sizes)


def _number(entry: Mapping[str, Any], key: str, where: str) -> float:
    value = entry.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise _wrong(f"{where}, {key}", "a number")
    return float(value)


def _wrong(where: str, wanted: str) -> InputError:
    return InputError(
        "parameters-wrong",
        f"The parameters need {wanted} at “{where}”.",
        where=f"parameters, {where}",
        fix="Correct the file; docs/decisions/activity-models.md shows one.",
    )
