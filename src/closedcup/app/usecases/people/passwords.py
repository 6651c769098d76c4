"""Passwords: which are good enough, and their Argon2id hashes (RFC 9106)."""

import secrets
import unicodedata
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING

from closedcup.errors import InputError
from closedcup.records.access_rules import access_rules

if TYPE_CHECKING:
    from argon2 import PasswordHasher

# Letters and digits that are told apart in print: no 0, 1, i, l, o
_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"


@cache
def hasher() -> "PasswordHasher":
    """Return the hash function with the costs of `records/data/access_rules.csv`."""
    from argon2 import PasswordHasher

    rules = access_rules()
    return PasswordHasher(
        time_cost=rules.argon2_time_cost,
        memory_cost=rules.argon2_memory_kib,
        parallelism=rules.argon2_parallelism,
    )


def hash_of(password: str) -> str:
    """Return the hash of a password, with its salt and its costs."""
    return hasher().hash(_normal(password))


def matches(password_hash: str | None, password: str) -> bool:
    """Say whether a password is the one of a hash; without a hash it takes as long, and is not."""
    from argon2.exceptions import InvalidHashError, VerificationError

    try:
        hasher().verify(password_hash or _decoy(), _normal(password))
    except (VerificationError, InvalidHashError):
        return False
    return password_hash is not None


def is_outdated(password_hash: str) -> bool:
    """Say whether a hash was made at other costs than today's."""
    return hasher().check_needs_rehash(password_hash)


def refuse_weak(password: str, *, known: tuple[str, ...]) -> None:
    """Raise InputError for a password that is too short, too plain, or says whose it is.

    known: words that anybody would try for this account: the id, the name, the laboratory.
    """
    rules, plain = access_rules(), _normal(password).casefold()
    if len(plain) < rules.password_least:
        raise _weak(f"It has fewer than {rules.password_least} characters.")
    if len(plain) > rules.password_most:
        raise _weak(f"It has more than {rules.password_most} characters.")
    rest = plain
    for word in (*known, "closedcup", "password"):
        for part in word.casefold().split():
            if len(part) > 2:
                rest = rest.replace(part, "")
    if len(set(rest)) < rules.password_distinct:
        raise _weak("It repeats a few characters, or says little but who you are.")
    steps = [ord(after) - ord(before) for before, after in pairwise(plain)]
    if max(steps.count(1), steps.count(-1)) > len(plain) // 2:
        raise _weak("It counts up or down.")


def start_password() -> str:
    """Return a random password to hand over: four groups, about 99 bits."""
    groups = ("".join(secrets.choice(_LETTERS) for _ in range(5)) for _ in range(4))
    return "-".join(groups)


def _weak(why: str) -> InputError:
    return InputError(
        "password-weak",
        why,
        where="password",
        fix="Take four words that nobody else would put together; blanks are welcome.",
    )


def _normal(password: str) -> str:
    """Return one spelling of a password, whichever keyboard composed its letters."""
    return unicodedata.normalize("NFC", password)


@cache
def _decoy() -> str:
    return hash_of(secrets.token_hex())
