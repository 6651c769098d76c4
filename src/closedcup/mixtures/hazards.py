"""What must be known before a specimen is warmed under a flame: the substances of the stop list.

The list kept by hand holds what the trade names most often. For the other liquids of the
catalogue, rules over the structure (ether, nitrile, acyl chloride, …; applied by
`tools/build_liquids.py`) say what to expect. A liquid that neither names is not thereby safe.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from typing import Final

from closedcup.mixtures.tables import bibliography, data_file, table
from closedcup.sources import Cited, Known, load_rows, parse_known

HAZARDS: Final = {
    "peroxide-former": "forms explosive peroxides: test for peroxide before heating",
    "self-reactive": "can decompose or polymerise violently when warm",
    "nitrated": "nitrated: can decompose violently when warm",
    "azide": "azide: explosive",
    "pyrophoric": "ignites in air by itself",
    "water-reactive": "reacts violently with water",
    "acutely-toxic": "acutely toxic: extraction and skin protection",
    "forms-hf": "gives hydrogen fluoride in the flame",
    "forms-hcl": "gives hydrogen chloride in the flame",
    "forms-phosgene": "gives phosgene in the flame",
    "halogenated": "masks the flash: the flame swells and may burn outside the cup",
    "low-autoignition": "ignites by itself on a warm surface",
    "pressurised": "under pressure: cool and release before opening",
}

# Temperature class T4 of IEC 60079-20-1 ends at 200 °C (memory).
LOW_AUTOIGNITION_C: Final = 200.0


@dataclass(frozen=True, slots=True)
class Hazard:
    """One substance and one reason why it is on the stop list."""

    cas: str
    name: str
    hazard: str
    note: str
    source: str
    known: Known


@cache
def hazard_table() -> tuple[Hazard, ...]:
    """Return every row of the stop list, also of substances that no estimate knows."""
    return tuple(
        Hazard(
            row["cas"], row["name"], row["hazard"], row["note"], row["source"],
            parse_known(row["known"], where=row["cas"]),
        )
        for row in _load("hazards.csv")
    )  # fmt: skip


@cache
def _word_patterns() -> tuple[Hazard, ...]:
    return tuple(
        Hazard("", row["pattern"], row["hazard"], HAZARDS[row["hazard"]], row["source"],
               parse_known(row["known"], where=row["pattern"]))
        for row in _load("hazard_words.csv")
    )  # fmt: skip


def hazards_in_words(description: str) -> tuple[Hazard, ...]:
    """Return the hazards that a sample's declared name or description points to.

    Looks for the substances of the stop list and for the liquids of the catalogue with a hazard,
    by name or CAS number, then for tell-tale words ("… peroxide", "aerosol"). Spelling is
    compared without case.
    """
    text = description.lower()
    substances = (*hazard_table(), *_all_by_structure()) if text.strip() else ()
    named = tuple(hazard for hazard in substances if _names(text, hazard))
    words = re.findall(r"\w+", text)
    told = tuple(
        hazard
        for hazard in _word_patterns()
        if any(fnmatchcase(word, hazard.name) for word in words)
    )
    return named + told


@cache
def _all_by_structure() -> tuple[Hazard, ...]:
    return tuple(_by_structure(row) for row in table("hazards_by_structure.csv").all_rows())


def _names(text: str, hazard: Hazard) -> bool:
    name = hazard.name.lower()
    if hazard.cas in text:
        return True
    # The plain search first: it spares some two thousand patterns.
    return name in text and bool(re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", text))


def hazards_of(cas: str) -> tuple[Hazard, ...]:
    """Return the listed hazards of a liquid: by the list kept by hand, then by its structure."""
    by_hand = tuple(hazard for hazard in hazard_table() if hazard.cas == cas)
    listed = {hazard.hazard for hazard in by_hand}
    by_structure = (_by_structure(row) for row in table("hazards_by_structure.csv").rows(cas))
    return (*by_hand, *(hazard for hazard in by_structure if hazard.hazard not in listed))


def _by_structure(row: Mapping[str, str]) -> Hazard:
    note = f"{HAZARDS[row['hazard']]} ({row['because']})"
    known = parse_known(row["known"], where=row["cas"])
    return Hazard(row["cas"], row["name"], row["hazard"], note, row["source"], known)


def low_autoignition(cas: str, name: str, autoignition: Cited | None) -> Hazard | None:
    """Return the hazard of a liquid that ignites by itself at 200 °C or below."""
    if autoignition is None or autoignition.value > LOW_AUTOIGNITION_C:
        return None
    note = f"ignites by itself at {autoignition.value:g} °C"
    return Hazard(cas, name, "low-autoignition", note, autoignition.source, autoignition.known)


def _load(name: str) -> list[dict[str, str]]:
    return load_rows(data_file(name), bibliography())
