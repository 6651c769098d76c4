"""The classes of a regime along the line of flash points, all else equal, and their chances.

The bands are read off the decision table itself: each limit is tried at, and between limits; so
they have no gap and no overlap, and whoever owns a limit is what the table answers there.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from closedcup.classification.answer import Chance
from closedcup.classification.evidence import Evidence
from closedcup.classification.margin import limits_of
from closedcup.classification.outcome import class_words, run_table
from closedcup.classification.tables import Regime

_BEYOND_C = 1.0  # anywhere beyond the last limit


@dataclass(frozen=True, slots=True)
class Band:
    """The flash points that one class covers; infinite ends are open.

    `severity` is 1 for the most severe class of the regime and 0 for the least; `high_limit` is
    the upper end in the unit in which the rule gives it ("140 °F"), empty where it is open.
    """

    classification: str
    severity: float
    low_c: float
    high_c: float
    low_belongs: bool
    high_belongs: bool
    high_limit: str

    @property
    def words(self) -> str:
        """The band with its operators: "≥ 23 °C and ≤ 60 °C"."""
        ends = []
        if self.low_c > -math.inf:
            ends.append(f"{'≥' if self.low_belongs else '>'} {round(self.low_c, 2):g} °C")
        if self.high_c < math.inf:
            ends.append(f"{'≤' if self.high_belongs else '<'} {round(self.high_c, 2):g} °C")
        return " and ".join(ends) or "at any flash point"

    def as_json(self) -> dict[str, object]:
        """Return the object printed with `--json`; an open end is null."""
        return {
            "classification": self.classification,
            "severity": self.severity,
            "low_c": self.low_c if math.isfinite(self.low_c) else None,
            "high_c": self.high_c if math.isfinite(self.high_c) else None,
            "low_belongs": self.low_belongs,
            "high_belongs": self.high_belongs,
            "high_limit": self.high_limit,
            "words": self.words,
        }


@dataclass(frozen=True, slots=True)
class _Piece:
    classes: frozenset[str]
    low_c: float
    high_c: float
    is_limit: bool


def _classes_at(regime: Regime, evidence: Evidence, flash_c: float) -> frozenset[str]:
    there = replace(evidence, flash_c=flash_c, no_flash_at_c=None, flash_at_c=None)
    return run_table(regime, there).classes


def _inside(low_c: float, high_c: float) -> float:
    if math.isinf(low_c):
        return 0.0 if math.isinf(high_c) else high_c - _BEYOND_C
    return low_c + _BEYOND_C if math.isinf(high_c) else (low_c + high_c) / 2


def _pieces(regime: Regime, evidence: Evidence, limits_c: Iterable[float]) -> Iterator[_Piece]:
    """Cut the line at the limits; each limit is a piece of its own."""
    for low_c, high_c in pairwise([-math.inf, *sorted(limits_c), math.inf]):
        inside = _classes_at(regime, evidence, _inside(low_c, high_c))
        yield _Piece(inside, low_c, high_c, is_limit=False)
        if math.isfinite(high_c):
            at = _classes_at(regime, evidence, high_c)
            yield _Piece(at, high_c, high_c, is_limit=True)


def bands(regime: Regime, evidence: Evidence) -> tuple[Band, ...]:
    """Return the classes from the lowest to the highest flash point, all other evidence equal."""
    limits: dict[float, str] = {}
    for one in limits_of(regime, evidence):
        limits.setdefault(round(one.corrected_c, 9), str(one.temperature))
    least = max(len(regime.classes) - 1, 1)
    joined = []
    for classes, group in groupby(_pieces(regime, evidence, limits), lambda piece: piece.classes):
        pieces = list(group)
        first, last = pieces[0], pieces[-1]
        joined.append(
            Band(
                class_words(regime, classes),
                severity=1 - min(regime.classes.index(one) for one in classes) / least,
                low_c=first.low_c,
                high_c=last.high_c,
                low_belongs=first.is_limit,
                high_belongs=last.is_limit,
                high_limit=limits.get(last.high_c, ""),
            )
        )
    return tuple(joined)


def chances(regime: Regime, evidence: Evidence) -> tuple[Chance, ...]:
    """Return the chance of each class from the value and its standard uncertainty.

    The true flash point is taken as normal about the value (JCGM 106:2012; memory). Most likely
    first; chances below one in ten thousand are left out. Empty without a value or an uncertainty.
    """
    value_c, standard_c = evidence.flash_c, evidence.standard_uncertainty_c
    if value_c is None or standard_c is None:
        return ()
    found: dict[str, float] = {}
    for band in bands(regime, evidence):
        share = _below(band.high_c, value_c, standard_c) - _below(band.low_c, value_c, standard_c)
        found[band.classification] = found.get(band.classification, 0.0) + share
    ordered = sorted(found.items(), key=lambda one: -one[1])
    return tuple(
        Chance(classification, share) for classification, share in ordered if share >= 0.0001
    )


def _below(end_c: float, value_c: float, standard_c: float) -> float:
    return 0.5 * math.erfc(-(end_c - value_c) / (standard_c * math.sqrt(2)))
