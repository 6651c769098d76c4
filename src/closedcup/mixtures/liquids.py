"""The catalogue of liquids: what is known of each, with the source of every value.

A liquid is read when it is asked for, so that one estimate does not pay for all of them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal, cast

from closedcup.mixtures.consensus import FlashConsensus, FlashValue, consensus
from closedcup.mixtures.hazards import Hazard, hazards_of, low_autoignition
from closedcup.mixtures.tables import bibliography, data_file, table
from closedcup.mixtures.vapour_pressure import Correlation
from closedcup.sources import Cited, parse_known

__all__ = ["Catalogue", "Liquid", "Role", "bibliography", "catalogue", "data_file"]

Role = Literal["flammable", "inert", "halogenated"]

UNITS: Final = {
    "density_20c_kg_m3": "kg/m³",
    "boiling_c": "°C",
    "melting_c": "°C",
    "heat_of_vaporisation_25c_kj_mol": "kJ/mol",
    "heat_of_combustion_25c_kj_mol": "kJ/mol",
    "lfl_percent": "% by volume",
    "autoignition_c": "°C",
}


@dataclass(frozen=True, slots=True)
class Liquid:
    """One liquid. What is unknown is None or missing, never a guess.

    `properties` holds, where known, density_20c_kg_m3, boiling_c, melting_c, lfl_percent,
    autoignition_c and the heats at 25 °C: of vaporisation, and of combustion to gases (net,
    from the gas; positive). `subgroups` counts its groups of the original UNIFAC (number to
    count), `dortmund_subgroups` those of the modified (Dortmund) UNIFAC. `chemical_class` is
    found from its structure ("alcohol", "ester", "several groups", …).
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
    dortmund_subgroups: Mapping[int, int]
    hazards: tuple[Hazard, ...]
    chemical_class: str = ""

    def flash_point(self, cup_family: str | None = None) -> FlashConsensus | None:
        """Return the consensus flash point at 101.3 kPa; see `consensus.consensus`."""
        return consensus(self.flash_values, cup_family)

    @property
    def is_hydrocarbon(self) -> bool:
        """Whether it is made of carbon and hydrogen only."""
        return not set(self.formula) - set("CH0123456789")


class Catalogue(Mapping[str, Liquid]):
    """Every liquid by CAS number, in the order of the table; each is read when first asked for."""

    def __init__(self) -> None:
        self._read: dict[str, Liquid] = {}
        self._numbers = {line.partition(",")[0]: None for line in table("liquids.csv").lines}

    def __getitem__(self, cas: str) -> Liquid:
        if cas not in self._numbers:
            raise KeyError(cas)
        if cas not in self._read:
            self._read[cas] = _liquid(cas)
        return self._read[cas]

    def __iter__(self) -> Iterator[str]:
        return iter(self._numbers)

    def __len__(self) -> int:
        return len(self._numbers)


@cache
def catalogue() -> Catalogue:
    """Return the liquids that ship with the program."""
    return Catalogue()


def _liquid(cas: str) -> Liquid:
    row = table("liquids.csv").rows(cas)[0]
    properties = _properties(cas)
    pressure = table("vapour_pressure.csv").row(cas)
    groups = table("unifac_assignments.csv").row(cas) or {"original": "", "dortmund": ""}
    return Liquid(
        cas=cas,
        name=row["name"],
        role=cast(Role, row["role"]),
        synonyms=tuple(name for name in row["synonyms"].split(";") if name),
        formula=row["formula"],
        molar_mass_g_mol=float(row["molar_mass_g_mol"]),
        properties=properties,
        flash_values=tuple(_flash_value(entry) for entry in table("flash_points.csv").rows(cas)),
        vapour_pressure=_correlation(pressure) if pressure else None,
        subgroups=parse_groups(groups["original"]),
        dortmund_subgroups=parse_groups(groups["dortmund"]),
        hazards=_hazards(row, properties),
        chemical_class=row["class"],
    )


def parse_groups(text: str) -> dict[int, int]:
    """Read "1:2 2:3" as two groups of number 1 and three of number 2."""
    pairs = (pair.split(":") for pair in text.split())
    return {int(group): int(count) for group, count in pairs}


def _properties(cas: str) -> dict[str, Cited]:
    return {
        row["property"]: Cited(
            float(row["value"]),
            UNITS[row["property"]],
            row["source"],
            parse_known(row["known"], where=cas),
        )
        for row in table("properties.csv").rows(cas)
    }


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


def _hazards(row: Mapping[str, str], properties: Mapping[str, Cited]) -> tuple[Hazard, ...]:
    """Return the hazards listed for a liquid and those that follow from its own data."""
    cas, name = row["cas"], row["name"]
    found = [*hazards_of(cas)]
    if row["role"] == "halogenated":
        note = "masks the flash: the flame swells and may burn outside the cup"
        found.append(Hazard(cas, name, "halogenated", note, "chemicals", "package"))
    ignition = low_autoignition(cas, name, properties.get("autoignition_c"))
    return (*found, ignition) if ignition else tuple(found)
