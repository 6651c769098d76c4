"""Find a liquid by name, synonym or CAS number; suggest when nothing fits; never guess."""

import difflib
import re
from collections import defaultdict
from collections.abc import Mapping
from functools import cache

from closedcup.errors import InputError
from closedcup.mixtures.liquids import Liquid, catalogue

_CAS = re.compile(r"\d{2,7}-\d{2}-\d")


def find(name_or_cas: str, *, where: str = "component") -> Liquid:
    """Return the liquid with this name, synonym or CAS number.

    Case, blanks, hyphens and a leading "n-" do not matter. Raises InputError of the kind
    `liquid-unknown` with the nearest names, `liquid-ambiguous` with the liquids that a name
    covers ("xylene", "butanol"), or `cas-mistyped` when the check digit fails.
    """
    typed = name_or_cas.strip()
    if _CAS.fullmatch(typed):
        return _find_cas(typed, where)
    names = _index()
    found = names.get(_key(typed)) or names.get(_key(re.sub(r"^n[- ]", "", typed.lower())))
    if not found:
        raise InputError(
            "liquid-unknown",
            f"“{name_or_cas}” is not a liquid of the catalogue.",
            where=where,
            fix=_suggestion(typed),
        )
    if len(found) > 1:
        options = ", ".join(f"{catalogue()[cas].name} ({cas})" for cas in found)
        raise InputError(
            "liquid-ambiguous",
            f"“{name_or_cas}” names more than one liquid.",
            where=where,
            fix=f"Choose one of: {options}.",
        )
    return catalogue()[found[0]]


def _find_cas(cas: str, where: str) -> Liquid:
    liquid = catalogue().get(cas)
    if liquid is not None:
        return liquid
    digits = [int(digit) for digit in cas if digit != "-"]
    check = sum(place * digit for place, digit in enumerate(reversed(digits[:-1]), start=1)) % 10
    if check != digits[-1]:
        raise InputError(
            "cas-mistyped",
            f"The check digit of CAS number {cas} should be {check}.",
            where=where,
            fix="Read the number again from the label.",
        )
    raise InputError(
        "liquid-unknown",
        f"CAS number {cas} is not in the catalogue.",
        where=where,
        fix="Leave the composition unknown, or enter a measured flash point for the sample.",
    )


def _key(name: str) -> str:
    return re.sub(r"[^\w]", "", name.lower())


@cache
def _index() -> Mapping[str, tuple[str, ...]]:
    """Map each name without blanks and signs to the CAS numbers that bear it.

    A liquid's own name wins over another's synonym.
    """
    by_name: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for liquid in catalogue().values():
        for synonym in liquid.synonyms:
            by_name[_key(synonym)][liquid.cas] = None
    own = {_key(liquid.name): (liquid.cas,) for liquid in catalogue().values()}
    return {key: tuple(numbers) for key, numbers in by_name.items()} | own


def _suggestion(typed: str) -> str:
    spellings = {
        spelling.lower(): liquid.name
        for liquid in catalogue().values()
        for spelling in (*liquid.synonyms, liquid.name)
    }
    close = difflib.get_close_matches(typed.lower(), spellings, n=6, cutoff=0.6)
    nearest = list(dict.fromkeys(spellings[spelling] for spelling in close))[:4]
    if not nearest:
        return "Give the CAS number, or leave the composition unknown."
    return f"Did you mean {' or '.join(nearest)}? Or give the CAS number."
