"""Refuse a decision that says nothing."""

from closedcup.errors import InputError


def in_words(text: str, what: str) -> str:
    """Return the words without blanks around them; InputError when there are none."""
    said = text.strip()
    if not said:
        raise InputError(
            f"{what}-missing",
            f"The {what} is kept in words and is empty.",
            where=what,
            fix=f"Say it in a few words: --{what} …",
        )
    return said
