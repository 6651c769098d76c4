"""One flash point of a pure liquid from many published ones, with families of cups kept apart.

Published tables repeat each other and some hold wrong rows, so the value is the median over
families of sources, never a mean over rows. Handbook figures, small-scale figures and
Pensky–Martens figures of one liquid differ systematically (decane 46, 49.7, 52.8 °C), so a
family of cups is used only when asked for, and never enters the handbook median. The laboratory's
own value wins over all of them.
"""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from closedcup.mixtures.tables import bibliography, data_file
from closedcup.sources import Known, load_rows

HANDBOOK_CUPS: Final = frozenset({"closed", "unspecified"})
CUP_FAMILIES: Final = ("small scale", "pensky-martens", "tag", "continuously closed")

# A family whose figure is further off the median than this is an outlier: it stays on record and
# in the median, which it cannot move far, but not in the spread.
OUTLIER_C: Final = 5.0
# Recalled figures count only where fewer than this many families of others exist.
ENOUGH_FAMILIES: Final = 3
# The family of products of changing composition; each states its own uncertainty.
PRODUCT: Final = "product"
# Families copy each other, so their agreement proves little. The interval reaches to nine tenths
# of them and this much further, and is never narrower than the floor for so many families. Both
# were measured by leaving out one table at a time (`benchmarks/pure_values.py`).
REACH: Final = 1.25
FLOORS_C: Final = ((9, 3.0), (5, 4.0), (0, 5.0))
# The figure of one family of apparatus is taken to this (our judgement).
LEAST_HALF_WIDTH_C: Final = 2.0
# A family further off than this has copied a wrong row; it says nothing of how sure the others are.
GROSS_C: Final = 30.0
# A value from one or two families says little about its spread: no less than this (our judgement),
# nor than the family's own distance from the others (measured; `flash_families.csv`).
LONE_HALF_WIDTH_C: Final = 5.0
# An estimate from other properties this near supports such a value (its own error is as large).
SUPPORTED_C: Final = 10.0
# The laboratory's own value is taken to this (half a 95 % interval): the repeatability of a
# closed-cup method between 0 and 70 °C is 1 to 2 °C (our judgement; the bias is not in it).
OWN_HALF_WIDTH_C: Final = 2.0
_WEAKEST_FIRST: Final[tuple[Known, ...]] = ("common practice", "memory", "package", "read", "user")


@dataclass(frozen=True, slots=True)
class FlashValue:
    """One published flash point (corrected scale) of one liquid, or the laboratory's own.

    `half_width_c` is half of a 95 % interval where the source gives one; else nan.
    """

    value_c: float
    cup: str
    family: str
    source: str
    known: Known
    rejected: str = ""
    half_width_c: float = math.nan


@dataclass(frozen=True, slots=True)
class FlashConsensus:
    """The flash point taken for a pure liquid, how sure it is, and who says so.

    `half_width_c` is half of a nominal 95 % interval from the spread of the families.
    `to_other_cups_c` is how far the reference figure of an apparatus family lies from a handbook
    value (the furthest, signed; 0 where there is none or where a family was asked for).
    `outliers` lists
    families more than 5 °C off the median. `known` is the weakest way of knowing among the
    families used.
    """

    value_c: float
    half_width_c: float
    to_other_cups_c: float
    cup: str
    families: tuple[str, ...]
    outliers: tuple[str, ...]
    sources: tuple[str, ...]
    known: Known

    def origin(self) -> str:
        """Say in words where the value comes from."""
        if self.known == "user":
            return "the laboratory's own value"
        if len(self.families) == 1:
            return self.sources[0]
        return f"median of {len(self.families)} families of sources: {', '.join(self.families)}"


def consensus(
    values: Sequence[FlashValue], cup_family: str | None = None, estimate_c: float | None = None
) -> FlashConsensus | None:
    """Return the median over families of sources, or None where no value can be used.

    Without `cup_family` the handbook figures are used (closed cup or cup not stated; never open
    cup, never a rejected row). With it, only figures of that family of apparatus.
    """
    own = [value for value in values if value.known == "user" and not value.rejected]
    if own:
        return _stated(own)
    if cup_family is None and [value.family for value in values] == [PRODUCT]:
        return _stated(values)
    wanted = HANDBOOK_CUPS if cup_family is None else {cup_family}
    usable = [value for value in values if value.cup in wanted and not value.rejected]
    firm = [value for value in usable if value.known in ("read", "package")]
    if len({value.family for value in firm}) >= ENOUGH_FAMILIES:
        usable = firm
    if not usable:
        return None
    by_family = {
        family: statistics.median(v.value_c for v in usable if v.family == family)
        for family in sorted({value.family for value in usable})
    }
    median = statistics.median(by_family.values())
    outliers = {f: v for f, v in by_family.items() if abs(v - median) > OUTLIER_C}
    offsets = [value - median for value in by_family.values()]
    handbook = cup_family is None
    off_c = math.nan if estimate_c is None else abs(median - estimate_c)
    return FlashConsensus(
        value_c=round(median, 2),
        half_width_c=round(_half_width_c(offsets, tuple(by_family), off_c), 2)
        if handbook
        else LEAST_HALF_WIDTH_C,
        to_other_cups_c=round(_to_other_cups_c(values, median), 2) if handbook else 0.0,
        cup=cup_family or "handbook",
        families=tuple(by_family),
        outliers=tuple(f"{family} {value:g} °C" for family, value in outliers.items()),
        sources=tuple(dict.fromkeys(value.source for value in usable)),
        known=min((value.known for value in usable), key=_WEAKEST_FIRST.index),
    )


def _stated(own: Sequence[FlashValue]) -> FlashConsensus:
    """Return what the laboratory measured, or what a product states of itself."""
    given = [value.half_width_c for value in own if not math.isnan(value.half_width_c)]
    return FlashConsensus(
        value_c=round(statistics.median(value.value_c for value in own), 2),
        half_width_c=max(given, default=OWN_HALF_WIDTH_C),
        to_other_cups_c=0.0,
        cup=own[0].family,
        families=(own[0].family,),
        outliers=(),
        sources=tuple(dict.fromkeys(value.source for value in own)),
        known=own[0].known,
    )


@cache
def family_widths() -> dict[str, tuple[float, float]]:
    """Return within what distance of the other families' median 95 % of a family's values lie.

    Two figures for each family: all its values, and those that an estimate supports.
    """
    rows = load_rows(data_file("flash_families.csv"), bibliography())
    return {
        row["family"]: (float(row["within_95_c"]), float(row["within_95_supported_c"]))
        for row in rows
    }


def _half_width_c(offsets: list[float], families: Sequence[str], off_c: float) -> float:
    """Return half a nominal 95 % interval of the median from the families' offsets.

    `off_c` is how far an estimate lies from the median, nan without one.
    """
    if len(offsets) < ENOUGH_FAMILIES:
        supported = off_c <= SUPPORTED_C
        own = min(family_widths().get(family, (0.0, 0.0))[supported] for family in families)
        opposed = 0.0 if supported or math.isnan(off_c) else off_c
        return max(LONE_HALF_WIDTH_C, own, opposed, *(abs(offset) for offset in offsets))
    return agreement_half_width_c(offsets)


def agreement_half_width_c(offsets: Sequence[float]) -> float:
    """Return half a nominal 95 % interval of a median from its families' offsets (°C)."""
    count = len(offsets)
    distances = sorted(abs(offset) for offset in offsets if abs(offset) < GROSS_C)
    floor = next(floor for families, floor in FLOORS_C if count >= families)
    place = min(math.ceil(0.9 * count), len(distances))
    return max(floor, REACH * distances[place - 1])


def _to_other_cups_c(values: Sequence[FlashValue], median: float) -> float:
    """Return the offset of the furthest reference figure of an apparatus family."""
    offsets = [v.value_c - median for v in values if v.cup in CUP_FAMILIES and not v.rejected]
    return max(offsets, key=abs, default=0.0)
