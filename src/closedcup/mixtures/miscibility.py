"""Which pairs of liquids are known to mix in all proportions: the guard against spurious splits.

Group-contribution models part some pairs that do not part (ethanol and octane, water and
tert-butanol). What every handbook calls miscible at room temperature is not parted on a model's
word.
"""

import re
from collections.abc import Mapping
from functools import cache
from typing import Final

from closedcup.mixtures.liquids import Liquid, bibliography, data_file
from closedcup.sources import load_rows

WATER: Final = "7732-18-5"


@cache
def _with_water() -> frozenset[str]:
    return frozenset(row["cas"] for row in _rows() if row["partner"] == "water")


@cache
def _with_hydrocarbons() -> Mapping[str, int]:
    """Map a CAS number to the number of carbon atoms up to which it mixes with hydrocarbons."""
    return {row["cas"]: int(row["carbon_atoms"]) for row in _rows() if row["carbon_atoms"]}


def _rows() -> list[dict[str, str]]:
    return load_rows(data_file("miscible.csv"), bibliography())


def known_miscible(one: Liquid, other: Liquid) -> bool:
    """Whether two liquids are on record as miscible in all proportions at 20 to 25 °C.

    Two hydrocarbons always are. False means "not on record", never "they part".
    """
    if one.is_hydrocarbon and other.is_hydrocarbon:
        return True
    return _mixes(one, other) or _mixes(other, one)


def _mixes(one: Liquid, other: Liquid) -> bool:
    if other.cas == WATER:
        return one.cas in _with_water()
    return other.is_hydrocarbon and _carbon_atoms(other) <= _with_hydrocarbons().get(one.cas, 0)


def _carbon_atoms(liquid: Liquid) -> int:
    match = re.match(r"C(\d*)", liquid.formula)
    return int(match[1] or 1) if match else 0
