"""What must be known before a specimen is warmed under a flame: the substances of the stop list.

A liquid that is not listed is not thereby safe; the list holds what the trade names most often.
"""

import re
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Final

from closedcup.sources import Cited, Known, load_bibliography, load_rows, parse_known

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

    Looks for the substances of the stop list by name or CAS number, then for tell-tale words
    ("… peroxide", "aerosol"). Spelling is compared without case.
    """
    text = description.lower()
    named = tuple(
        hazard
        for hazard in hazard_table()
        if hazard.cas in text or re.search(rf"(?<!\w){re.escape(hazard.name.lower())}(?!\w)", text)
    )
    words = re.findall(r"\w+", text)
    told = tuple(
        hazard
        for hazard in _word_patterns()
        if any(fnmatchcase(word, hazard.name) for word in words)
    )
    return named + told


def low_autoignition(cas: str, name: str, autoignition: Cited | None) -> Hazard | None:
    """Return the hazard of a liquid that ignites by itself at 200 °C or below."""
    if autoignition is None or autoignition.value > LOW_AUTOIGNITION_C:
        return None
    note = f"ignites by itself at {autoignition.value:g} °C"
    return Hazard(cas, name, "low-autoignition", note, autoignition.source, autoignition.known)


def _load(name: str) -> list[dict[str, str]]:
    folder = files("closedcup.mixtures") / "data"
    return load_rows(folder / name, load_bibliography(folder / "sources.csv"))
