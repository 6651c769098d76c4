"""Flash points source by source, with the rows that are rejected and why."""

import math
import statistics
from collections import defaultdict
from collections.abc import Iterator

import chemicals
import numpy as np

from closedcup.mixtures.consensus import ENOUGH_FAMILIES, HANDBOOK_CUPS, OUTLIER_C, SUPPORTED_C
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_estimates import best_estimate, within_95
from liquid_tables.packages import INPUTS, KELVIN, read_rows
from liquid_tables.properties import SAFETY
from liquid_tables.selection import chosen_by_hand, compiled_flash_points

FLASH = SAFETY | {"Serat DIPPR (2017)": "serat-2017"}
FAMILY = {"wikidata": "niosh"}  # Wikidata's flash points are NIOSH figures converted from °F
# A figure that no other family supports is rejected when it lies further off the estimate than
# this and than twice the distance that 95 % of all consensus values keep.
GROSS_C = 30.0
Row = tuple[object, ...]


def flash_rows(cas: str) -> Iterator[Row]:
    """Yield the columns of `flash_points.csv` for one liquid; rejections by hand only."""
    found = [
        (float(row["value_c"]), row["cup"], row["family"], row["source"], row["known"])
        for row in _compiled()[cas]
    ]
    for method in chemicals.T_flash_methods(cas):
        if method in FLASH:
            source = FLASH[method]
            value = round(chemicals.T_flash(cas, method=method) - KELVIN, 2)
            found.append((value, "unspecified", FAMILY.get(source, source), source, "package"))
    for value, cup, family, source, known in sorted(found, key=lambda row: (row[2:], row[0])):
        yield cas, value, cup, family, rejection(cas, source, value), source, known


def _compiled() -> dict[str, list[dict[str, str]]]:
    if not _by_cas:
        for row in compiled_flash_points():
            _by_cas[row["cas"]].append(row)
    return _by_cas


_by_cas: defaultdict[str, list[dict[str, str]]] = defaultdict(list)


def rejection(cas: str, source: str, value: float) -> str:
    if source == "serat-2017":
        return "table more than 5 °C off the others for nearly half its liquids"
    for row in read_rows(INPUTS / "rejected.csv"):
        same = row["cas"] == cas and row["source"] in ("", source)
        if same and (not row["value_c"] or abs(float(row["value_c"]) - value) < 0.5):
            return row["reason"]
    return ""


def medians(liquid: Liquid) -> dict[str, float]:
    """Return the median of each family whose rows may be used."""
    usable = [v for v in liquid.flash_values if v.cup in HANDBOOK_CUPS and not v.rejected]
    return {
        family: statistics.median(v.value_c for v in usable if v.family == family)
        for family in sorted({v.family for v in usable})
    }


def reject_gross(row: Row, liquid: Liquid) -> Row:
    """Reject a lone figure that what else is known of the liquid contradicts grossly.

    Two families that agree are kept: the estimate may be the one that is wrong.
    """
    found = medians(liquid)
    agree = len(found) > 1 and max(found.values()) - min(found.values()) <= 2 * OUTLIER_C
    if row[4] or row[0] in chosen_by_hand() or len(found) >= ENOUGH_FAMILIES or agree:
        return row
    made = best_estimate(liquid)
    if made is None:
        return row
    allowed = max(GROSS_C, 2 * made.half_width_c)
    off = float(str(row[1])) - made.flash_c
    if abs(off) <= allowed:
        return row
    reason = f"{off:+.0f} °C from the {made.form} estimate, and no other source agrees with it"
    return (*row[:4], reason, *row[5:])


def family_widths(liquids: list[Liquid]) -> Iterator[Row]:
    """Yield how far each family's figures lie from the median of the others.

    The last figure counts only those near the estimate from other properties of the liquid.
    """
    off: defaultdict[str, list[tuple[float, bool]]] = defaultdict(list)
    for liquid in liquids:
        found, made = medians(liquid), best_estimate(liquid)
        for family, value in found.items():
            others = [other for name, other in found.items() if name != family]
            if len(others) >= ENOUGH_FAMILIES - 1:
                supported = made is not None and abs(value - made.flash_c) <= SUPPORTED_C
                off[family].append((abs(value - statistics.median(others)), supported))
    for family, distances in sorted(off.items()):
        every = [distance for distance, _ in distances]
        near = [distance for distance, supported in distances if supported]
        if len(near) >= 20:
            mean = round(float(np.mean(every)), 2)
            known = ("measured", "package")
            yield family, len(every), mean, _within(every), len(near), _within(near), *known


def _within(distances: list[float]) -> float:
    return math.ceil(10 * within_95(distances)) / 10
