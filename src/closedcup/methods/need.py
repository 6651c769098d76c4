"""What is to be found out about a sample, as far as it decides the method."""

from dataclasses import dataclass
from typing import Final, Literal, cast, get_args

from closedcup.errors import InputError

Purpose = Literal["specification", "transport", "waste", "screening"]

# What a sample can be besides its kind of product, in the words a user types.
TRAITS: Final[dict[str, str]] = {
    "water-borne": "a water-borne paint or the like",
    "film-forming": "forms a film while it is heated",
    "suspended solids": "holds suspended solids",
    "volatile contaminant": "may hold traces of something very volatile",
    "halogenated": "holds a halogenated component",
    "hazardous": "toxic, energetic, or too little of it for more than 2 mL at a time",
}

_FILM: Final = frozenset({"film-forming", "viscous paint", "residual fuel", "used oil"})


@dataclass(frozen=True, slots=True)
class Need:
    """What is to be found out about a sample.

    expected_corrected_c: None where nothing is expected. viscosity_mm2_s: kinematic, at
    viscosity_at_c. at_limit: only whether a limit is met. available_ml: sample there is. named:
    the methods that named_by allows, None where nothing names any.
    """

    product: str
    purpose: Purpose
    expected_corrected_c: float | None = None
    viscosity_mm2_s: float | None = None
    viscosity_at_c: float | None = None
    traits: frozenset[str] = frozenset()
    at_limit: bool = False
    available_ml: float | None = None
    named: frozenset[str] | None = None
    named_by: str = ""

    @property
    def forms_film(self) -> bool:
        """Whether a film or solids hinder the vapour."""
        return bool(self.traits & {"film-forming", "suspended solids"}) or self.product in _FILM


def parse_purpose(text: str) -> Purpose:
    """Return a purpose, or raise InputError with the list."""
    for purpose in get_args(Purpose):
        if purpose == " ".join(text.lower().split()):
            return cast("Purpose", purpose)
    raise InputError(
        "purpose-unknown",
        f"“{text}” is not a purpose that decides a method.",
        where="purpose",
        fix=f"Choose one of: {', '.join(get_args(Purpose))}.",
    )


def parse_trait(text: str) -> str:
    """Return a trait, or raise InputError with the list."""
    trait = " ".join(text.lower().split())
    if trait not in TRAITS:
        raise InputError(
            "trait-unknown",
            f"“{text}” is not a trait that decides a method.",
            where="trait",
            fix=f"Choose of: {', '.join(TRAITS)}.",
        )
    return trait
