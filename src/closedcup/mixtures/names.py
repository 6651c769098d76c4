"""Find a liquid by name, synonym or CAS number; suggest when nothing fits; never guess."""

import difflib
import re
from collections import defaultdict
from collections.abc import Mapping
from functools import cache

from closedcup.errors import InputError
from closedcup.mixtures.liquids import Liquid, catalogue
from closedcup.mixtures.products import PREFIX, is_resin, products
from closedcup.mixtures.tables import table

_CAS = re.compile(r"\d{2,7}-\d{2}-\d")


def find(
    name_or_cas: str, *, where: str = "component", own: Mapping[str, Liquid] | None = None
) -> Liquid:
    """Return the liquid with this name, synonym or CAS number; an `own` one first.

    Case, blanks, hyphens and a leading "n-" do not matter. Raises InputError of the kind
    `liquid-unknown` with the nearest names, `liquid-ambiguous` with the liquids that a name
    covers ("xylene", "butanol"), or `cas-mistyped` when the check digit fails.
    """
    typed = name_or_cas.strip()
    if own:
        return _find_own(typed, own) or _with_own(find(typed, where=where), own)
    if _CAS.fullmatch(typed):
        return _find_cas(typed, where)
    product = _product(typed)
    if product is not None:
        return product
    names = _index()
    found = names.get(name_key(typed)) or names.get(name_key(re.sub(r"^n[- ]", "", typed.lower())))
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


def _product(typed: str) -> Liquid | None:
    """Return a product of changing composition, or a resin; liquids' own names come first."""
    if is_resin(typed):
        from closedcup.mixtures.pseudo_liquids import resin_part  # noqa: PLC0415 - as below

        return resin_part(typed)
    key = name_key(typed.removeprefix(PREFIX))
    if key in _index():
        return None
    for product in products().values():
        if key in map(name_key, (product.name, *product.synonyms)):
            # Its vapour pressure comes from the fuels, which stand on the sum and the models.
            from closedcup.mixtures.pseudo_liquids import pseudo_liquid  # noqa: PLC0415

            return pseudo_liquid(product.name)
    return None


def _find_own(typed: str, own: Mapping[str, Liquid]) -> Liquid | None:
    key = name_key(typed)
    for liquid in own.values():
        if typed == liquid.cas or key in map(name_key, (liquid.name, *liquid.synonyms)):
            return liquid
    return None


def _with_own(liquid: Liquid, own: Mapping[str, Liquid]) -> Liquid:
    return own.get(liquid.cas, liquid)


def check_cas(cas: str, where: str) -> None:
    """Raise InputError where a CAS number is not one or its check digit fails."""
    if not _CAS.fullmatch(cas):
        raise InputError(
            "cas-mistyped",
            f"“{cas}” is not a CAS number.",
            where=where,
            fix="It has the form 64-17-5: up to seven digits, two, and a check digit.",
        )
    digits = [int(digit) for digit in cas if digit != "-"]
    check = sum(place * digit for place, digit in enumerate(reversed(digits[:-1]), start=1)) % 10
    if check != digits[-1]:
        raise InputError(
            "cas-mistyped",
            f"The check digit of CAS number {cas} should be {check}.",
            where=where,
            fix="Read the number again from the label.",
        )


def _find_cas(cas: str, where: str) -> Liquid:
    liquid = catalogue().get(cas)
    if liquid is not None:
        return liquid
    check_cas(cas, where)
    raise InputError(
        "liquid-unknown",
        f"CAS number {cas} is not in the catalogue.",
        where=where,
        fix="Leave the composition unknown, or enter a measured flash point for the sample.",
    )


def name_key(name: str) -> str:
    """Return a name as it is compared: small letters and digits only, without blanks and signs."""
    return re.sub(r"[\W_]", "", name.lower())


@cache
def _spellings() -> Mapping[str, tuple[str, tuple[str, ...]]]:
    """Map each CAS number to the liquid's own name and its synonyms."""
    return {
        row["cas"]: (row["name"], tuple(name for name in row["synonyms"].split(";") if name))
        for row in table("liquids.csv").all_rows()
    }


@cache
def _index() -> Mapping[str, tuple[str, ...]]:
    """Map each name as it is compared to the CAS numbers that bear it.

    A liquid's own name wins over another's synonym.
    """
    by_name: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for cas, (_, synonyms) in _spellings().items():
        for synonym in synonyms:
            by_name[name_key(synonym)][cas] = None
    own = {name_key(name): (cas,) for cas, (name, _) in _spellings().items()}
    return {key: tuple(numbers) for key, numbers in by_name.items()} | own


def nearest_names(typed: str) -> list[str]:
    """Return up to four names of liquids that are spelt like what was typed."""
    spellings = {
        spelling.lower(): name
        for name, synonyms in _spellings().values()
        for spelling in (*synonyms, name)
    }
    close = difflib.get_close_matches(typed.lower(), spellings, n=6, cutoff=0.6)
    return list(dict.fromkeys(spellings[spelling] for spelling in close))[:4]


def _suggestion(typed: str) -> str:
    nearest = nearest_names(typed)
    if not nearest:
        return "Give the CAS number, or leave the composition unknown."
    return f"Did you mean {' or '.join(nearest)}? Or give the CAS number."
