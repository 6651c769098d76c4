"""A person's signature under a result: what it means, and what exactly was signed."""

from dataclasses import dataclass
from typing import Final, Literal, get_args

from closedcup.errors import InputError

Meaning = Literal["performed", "reviewed", "approved"]
MEANINGS: Final[tuple[Meaning, ...]] = get_args(Meaning)


@dataclass(frozen=True, slots=True)
class Signature:
    """Who signed a result, as what, when, and the entry that was signed.

    signed_number and signed_seal are those of the result's own event: the seal is the SHA-256 of
    that entry and of everything recorded before it, so the determinations are signed with it.
    """

    result: str
    person: str
    meaning: Meaning
    signed_number: int
    signed_seal: str
    signed_at: str


def parse_meaning(text: str) -> Meaning:
    """Return what a signature means; InputError for another word."""
    for meaning in MEANINGS:
        if meaning == text.strip():
            return meaning
    raise InputError(
        "meaning-unknown",
        f"“{text}” is not what a signature means here.",
        where="meaning",
        fix=f"Say {', '.join(MEANINGS[:-1])} or {MEANINGS[-1]}.",
    )
