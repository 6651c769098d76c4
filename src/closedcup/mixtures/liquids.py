"""The catalogue of liquids: what is known of each, with the source of every value."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Final, Literal, cast

from closedcup.mixtures.consensus import FlashConsensus, FlashValue, consensus
from closedcup.mixtures.hazards import Hazard, hazard_table, low_autoignition
from closedcup.mixtures.vapour_pressure import Correlation
from closedcup.sources import Bibliography, Cited, load_bibliography, load_rows, parse_known

Role = Literal["flammable", "inert", "halogenated"]

_UNITS: Final = {
    "density_20c_kg_m3": "kg/m³",
    "boiling_c": "°C",
    "melting_c": "°C",
    "lfl_percent": "% by volume",
    "autoignition_c": "°C",
}


@dataclass(frozen=True, slots=True)
class Liquid:
    """One liquid. What is unknown is None or missing, never a guess.

    `properties` holds density_20c_kg_m3, boiling_c, melting_c, lfl_percent and autoignition_c
    where known. `subgroups` counts its groups of the original UNIFAC (number to count).
    """

    cas: str
    name: str
    role: Role
    synonyms: tuple[str, ...]
    formula: str
    molar_mass_g_mol: float
    properties: Mapping[str, Cited]
    flash_values: tuple[FlashValue, ...]
    vapour_pressure: Correlation | None
    subgroups: Mapping[int, int]
    hazards: tuple[Hazard, ...]

    def flash_point(self, cup_family: str | None = None) -> FlashConsensus | None:
        """Return the consensus flash point at 101.3 kPa; see `consensus.consensus`."""
        return consensus(self.flash_values, cup_family)

    @property
    def is_hydrocarbon(self) -> bool:
        """Whether it is made of carbon and hydrogen only."""
        return not set(self.formula) - set("CH0123456789")


def data_file(name: str) -> Traversable:
    """Return a table of this part."""
    return files("closedcup.mixtures") / "data" / name


@cache
def bibliography() -> Bibliography:
    """Return the sources that the tables of this part cite."""
    return load_bibliography(data_file("sources.csv"))


@cache
def catalogue() -> Mapping[str, Liquid]:
    """Return every liquid by CAS number, in the order of the table; loaded once."""
    properties = _properties()
    flash_values = _grouped("flash_points.csv")
    correlations = {row["cas"]: _correlation(row) for row in _rows("vapour_pressure.csv")}
    assignments = _grouped("unifac_assignments.csv")
    hazards = hazard_table()
    return MappingProxyType(
        {
            row["cas"]: Liquid(
                cas=row["cas"],
                name=row["name"],
                role=cast(Role, row["role"]),
                synonyms=tuple(name for name in row["synonyms"].split(";") if name),
                formula=row["formula"],
                molar_mass_g_mol=float(row["molar_mass_g_mol"]),
                properties=properties[row["cas"]],
                flash_values=tuple(_flash_value(entry) for entry in flash_values[row["cas"]]),
                vapour_pressure=correlations.get(row["cas"]),
                subgroups={int(e["subgroup"]): int(e["count"]) for e in assignments[row["cas"]]},
                hazards=_hazards(row, hazards, properties[row["cas"]]),
            )
            for row in _rows("liquids.csv")
        }
    )


def _rows(name: str) -> list[dict[str, str]]:
    return load_rows(data_file(name), bibliography())


def _grouped(name: str) -> Mapping[str, list[dict[str, str]]]:
    groups: defaultdict[str, list[dict[str, str]]] = defaultdict(list)
    for row in _rows(name):
        groups[row["cas"]].append(row)
    return groups


def _properties() -> Mapping[str, dict[str, Cited]]:
    found: defaultdict[str, dict[str, Cited]] = defaultdict(dict)
    for row in _rows("properties.csv"):
        known = parse_known(row["known"], where=row["cas"])
        unit = _UNITS[row["property"]]
        found[row["cas"]][row["property"]] = Cited(float(row["value"]), unit, row["source"], known)
    return found


def _flash_value(row: Mapping[str, str]) -> FlashValue:
    return FlashValue(
        value_c=float(row["value_c"]),
        cup=row["cup"],
        family=row["family"],
        source=row["source"],
        known=parse_known(row["known"], where=row["cas"]),
        rejected=row["rejected"],
    )


def _correlation(row: Mapping[str, str]) -> Correlation:
    constants = (row[f"c{i}"] for i in range(1, 7))
    return Correlation(
        equation=row["equation"],
        constants=tuple(float(value) for value in constants if value),
        low_k=float(row["low_k"]),
        high_k=float(row["high_k"]),
        source=row["source"],
        known=parse_known(row["known"], where=row["cas"]),
    )


def _hazards(
    row: Mapping[str, str], table: Iterable[Hazard], properties: Mapping[str, Cited]
) -> tuple[Hazard, ...]:
    """Return the hazards listed for a liquid and those that follow from its own data."""
    cas, name = row["cas"], row["name"]
    found = [hazard for hazard in table if hazard.cas == cas]
    if row["role"] == "halogenated":
        note = "masks the flash: the flame swells and may burn outside the cup"
        found.append(Hazard(cas, name, "halogenated", note, "chemicals", "package"))
    ignition = low_autoignition(cas, name, properties.get("autoignition_c"))
    return (*found, ignition) if ignition else tuple(found)
