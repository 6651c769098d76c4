"""Products of changing composition: their usual flash points, and how sure those are."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from closedcup.mixtures.tables import bibliography, data_file
from closedcup.sources import Known, load_rows, parse_known

# What their numbers begin with: they have no CAS number.
PREFIX: Final = "product:"
# A part that gives off nothing. Molar mass and density of a resin of which neither is known (our
# judgement; `resin` says what they may be off).
_RESIN: Final = re.compile(
    r"(resin|polymer|binder|involatile)( (?P<molar_mass>\d+(\.\d+)?) ?g/mol)?", re.IGNORECASE
)
RESIN_MOLAR_MASS_G_MOL: Final = 2000.0
RESIN_DENSITY_KG_M3: Final = 1100.0


@dataclass(frozen=True, slots=True)
class Product:
    """A product, its usual flash point (101.3 kPa) and how uncertain that is."""

    name: str
    synonyms: tuple[str, ...]
    flash_c: float
    half_width_c: float
    relative_density: float
    is_light: bool
    note: str
    source: str
    known: Known


@cache
def products() -> Mapping[str, Product]:
    """Return the products on file by name."""
    rows = load_rows(data_file("products.csv"), bibliography())
    return {
        row["name"]: Product(
            name=row["name"],
            synonyms=tuple(row["synonyms"].split(";")),
            flash_c=float(row["flash_c"]),
            half_width_c=float(row["half_width_c"]),
            relative_density=float(row["relative_density"]),
            is_light=row["light"] == "yes",
            note=row["note"],
            source=row["source"],
            known=parse_known(row["known"], where=row["name"]),
        )
        for row in rows
    }


def is_resin(name: str) -> bool:
    """Say whether a name means a part that gives off nothing: “resin”, “resin 2000 g/mol”."""
    return _RESIN.fullmatch(name.strip()) is not None


def stated_molar_mass(name: str) -> float | None:
    """Return the molar mass (g/mol) that the name of a resin states; None where it states none."""
    found = _RESIN.fullmatch(name.strip())
    stated = found["molar_mass"] if found else None
    return None if stated is None else float(stated)
