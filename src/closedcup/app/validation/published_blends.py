"""Published flash points of blends, series by series, and how far each model lies from them."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np

from closedcup.app.validation.mixture_points import BIBLIOGRAPHY, DATA, Row
from closedcup.mixtures import BASES, Basis, Blend, Liquid, blend, find
from closedcup.mixtures.flash_point import make_sum
from closedcup.mixtures.interval import family_of
from closedcup.mixtures.two_liquids import solve_with_split
from closedcup.sources import load_rows

# The family of sources in the catalogue that holds end points of published series. It has no say
# in the consensus values here, so no series is judged with its own pure values.
OWN_ENDS: Final = "blend-series"
INERT: Final = "water"


@dataclass(frozen=True, slots=True)
class Point:
    """One published flash point (°C) of a blend, and the kind of blend that it is."""

    made: Blend
    flash_c: float
    family: str


@dataclass(frozen=True, slots=True)
class Series:
    """The points of two liquids, with the pure values measured in the same series (nan: inert)."""

    names: tuple[str, str]
    own_ends_c: tuple[float, float]
    points: tuple[Point, ...]
    doubtful: bool
    explanation: str

    @property
    def name(self) -> str:
        """The two liquids."""
        return " + ".join(self.names)

    @property
    def is_aqueous(self) -> bool:
        """Whether one of the two is water."""
        return INERT in self.names

    @property
    def family(self) -> str:
        """The kind of blend that its points are, dilute ends apart."""
        return "aqueous" if self.is_aqueous else self.points[0].family

    def errors_c(self, activity: str) -> tuple[float, ...]:
        """Return predicted less published, with the series' own end points; nan without a root."""
        return _errors_c(self.names, activity)


@cache
def all_series() -> Mapping[tuple[str, str], Series]:
    """Return every published series by its two liquids."""
    found: defaultdict[tuple[str, str], list[Row]] = defaultdict(list)
    for row in load_rows(DATA / "blend_flash_points.csv", BIBLIOGRAPHY):
        found[row["first"], row["second"]].append(row)
    remarks = {
        (row["first"], row["second"]): row
        for row in load_rows(DATA / "blend_systems.csv", BIBLIOGRAPHY)
    }
    return {names: _series(names, rows, remarks.get(names)) for names, rows in found.items()}


def _series(names: tuple[str, str], rows: list[Row], remark: Row | None) -> Series:
    first = rows[0]
    return Series(
        names=names,
        own_ends_c=(_number(first["first_pure_c"]), _number(first["second_pure_c"])),
        points=tuple(_point(row) for row in rows),
        doubtful=remark is not None and remark["doubtful"] == "yes",
        explanation="" if remark is None else remark["explanation"],
    )


def _number(text: str) -> float:
    return float(text or "nan")


def basis_of(row: Row) -> Basis:
    """Return the basis of the amounts of a published point."""
    return next(basis for basis in BASES if basis == row["basis"])


def _point(row: Row) -> Point:
    liquids = [without_own_ends(find(name)) for name in (row["first"], row["second"])]
    share = float(row["first_amount"])
    amounts = zip((each.cas for each in liquids), (share, 1 - share), strict=True)
    made = blend(amounts, basis=basis_of(row), own={each.cas: each for each in liquids})
    inert = sum(
        x for x, each in zip(made.mole_fractions, made.liquids, strict=True) if each.name == INERT
    )
    return Point(made, float(row["flash_c"]), family_of(made.liquids, inert, 1))


def without_own_ends(liquid: Liquid) -> Liquid:
    """Return a liquid of the catalogue without the pure values of published series."""
    values = tuple(value for value in liquid.flash_values if value.family != OWN_ENDS)
    return replace(liquid, flash_values=values)


@cache
def _errors_c(names: tuple[str, str], activity: str) -> tuple[float, ...]:
    series = all_series()[names]
    liquids = series.points[0].made.liquids
    ready = make_sum(liquids, activity=activity, flash_c=series.own_ends_c)
    x = np.array([point.made.mole_fractions for point in series.points])
    predicted = solve_with_split(ready, liquids, x).roots.flash_c
    published = np.array([point.flash_c for point in series.points])
    return tuple(float(error) for error in predicted - published)
