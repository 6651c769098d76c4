"""Where each page belongs: the places of the head, and the pages beside each other in one."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Place:
    """One word of the head, the pages it leads to, and what else lies under it."""

    words: str
    pages: tuple[tuple[str, str], ...]
    """Address and words, the first one behind the word of the head."""
    holds: tuple[str, ...] = ()
    """How the addresses of its further pages begin."""

    @property
    def address(self) -> str:
        """Return where the word of the head leads."""
        return self.pages[0][0]

    def has(self, here: str) -> bool:
        """Return whether an address lies here."""
        return here in dict(self.pages) or here.startswith(self.holds)


PLACES: Final = (
    Place(
        "Samples",
        (
            ("/", "List"),
            ("/samples/new", "Receive"),
            ("/lists", "Take in a list"),
            ("/search", "Search"),
            ("/disposals", "Disposal"),
        ),
        holds=("/samples/", "/bench/", "/results/"),
    ),
    Place("Day", (("/day", "Order of the day"),)),
    Place(
        "Apparatus",
        (("/apparatus", "Apparatus and reference materials"), ("/proficiency", "Proficiency")),
        holds=("/apparatus/",),
    ),
    Place("Methods", (("/methods", "Test methods"),), holds=("/methods/",)),
    Place(
        "Calculate",
        (
            ("/estimate", "Estimate"),
            ("/blends", "Blends"),
            ("/formulate", "Formulate"),
            ("/classification", "Classify"),
        ),
    ),
    Place(
        "Laboratory",
        (
            ("/status", "Records"),
            ("/reports", "Reports"),
            ("/holds", "Holds"),
            ("/failures", "Failures"),
            ("/people", "People"),
            ("/qualifications", "Qualifications"),
            ("/accounts", "Accounts"),
        ),
        holds=("/person", "/sign-in", "/establish"),
    ),
)
"""In the order of the head."""


def beside(here: str) -> tuple[tuple[str, str], ...]:
    """Return the pages beside this one, where there is more than this one."""
    pages = next((place.pages for place in PLACES if here in dict(place.pages)), ())
    return pages if len(pages) > 1 else ()
