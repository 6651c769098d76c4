"""What can be seen at the cup, and what each sight counts as."""

from enum import StrEnum
from typing import Final, Literal, NamedTuple

CountsAs = Literal["flash", "no flash", "void", "stop"]


class _Meaning(NamedTuple):
    counts_as: CountsAs
    why: str
    next_step: str


class Observation(StrEnum):
    """What was observed when the igniter was applied; the value is the word on the page."""

    NO_FLASH = "no flash"
    FLASH = "flash"
    CONTINUOUS_BURNING = "continuous burning"
    HALO_ONLY = "halo only"
    SWOLLEN_FLAME = "swollen or coloured flame"
    BURNING_OUTSIDE = "burning outside the cup"
    IGNITER_OUT = "igniter out"
    BOIL_OVER = "boil-over"
    SPECIMEN_LOST = "specimen lost"

    @property
    def counts_as(self) -> CountsAs:
        """Flash, no flash, void (repeat with a fresh specimen) or stop."""
        return _MEANINGS[self].counts_as

    @property
    def why(self) -> str:
        """Why it counts so."""
        return _MEANINGS[self].why

    @property
    def next_step(self) -> str:
        """What to do at the bench now."""
        return _MEANINGS[self].next_step


# Halo, swollen flame, continuous burning and the blown-out igniter: memory and common practice of
# the small-scale methods. That a flash is a flame spreading at once over the whole surface is in
# 16 CFR 1500.43a (read).
_MEANINGS: Final[dict[Observation, _Meaning]] = {
    Observation.NO_FLASH: _Meaning(
        "no flash",
        "No flame travelled over the specimen.",
        "Clean and dry the cup and the lid.",
    ),
    Observation.FLASH: _Meaning(
        "flash",
        "A flame spread at once over the whole surface of the specimen.",
        "Let the flame die, then clean and dry the cup and the lid.",
    ),
    Observation.CONTINUOUS_BURNING: _Meaning(
        "stop",
        "Vapour burning on at the shutter opening means that the flash point lies well below.",
        "Close the shutter, let the cup cool, clean, and start again lower.",
    ),
    Observation.HALO_ONLY: _Meaning(
        "no flash",
        "A blue halo or an enlarged igniter flame is not a flash: the flame did not travel "
        "over the surface.",
        "Clean and dry the cup and the lid.",
    ),
    Observation.SWOLLEN_FLAME: _Meaning(
        "stop",
        "A swollen, yellow or coloured igniter flame without a flash suggests a halogenated or "
        "inert component that masks the flash.",
        "Stop. Keep the extraction running and take it to the reviewer; it is neither a flash "
        "nor proof of none.",
    ),
    Observation.BURNING_OUTSIDE: _Meaning(
        "void",
        "What burnt was vapour or specimen outside the cup.",
        "Gas off, wipe lid and block when cool, look for a spill or a leaking seal; fresh "
        "specimen. If it comes back, suspect masking.",
    ),
    Observation.IGNITER_OUT: _Meaning(
        "void",
        "A blown-out flame feeds unburnt gas into the cup.",
        "Gas off, purge the cup, clean, relight and gauge the flame; fresh specimen.",
    ),
    Observation.BOIL_OVER: _Meaning(
        "void",
        "The specimen boiled or foamed over: the vapour space was not that of the method.",
        "Clean cup, lid and port; look for water in the sample; fresh specimen.",
    ),
    Observation.SPECIMEN_LOST: _Meaning(
        "void",
        "There was no full specimen in the cup.",
        "Clean and dry the cup; fresh specimen.",
    ),
}
