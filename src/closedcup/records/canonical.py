"""One value, one row of bytes: the canonical JSON that is hashed (RFC 8785, without fractions).

Floats are refused: RFC 8785 would write 40.50 and 40.5 alike and lose the resolution that was
recorded. A measured number is a decimal string, "40.50". What is left of the standard (strings,
whole numbers up to 2⁵³ − 1, true, false, null, lists, objects) is written here with the standard
library, byte for byte as RFC 8785 orders and escapes it.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any, Final

from closedcup.errors import Damaged, InputError

# RFC 8785 keeps to I-JSON (RFC 7493 §2.2): whole numbers that a binary64 holds exactly
GREATEST_INTEGER: Final = 2**53 - 1


def canonical_bytes(value: Any) -> bytes:
    """Write a JSON value in its one canonical form, as UTF-8.

    Raises InputError for what has no such form: a float, NaN, a whole number beyond 2⁵³ − 1, a
    key that is not text, half a surrogate pair, anything that is not JSON. Source: RFC 8785.
    """
    plain = _plain_text(value)
    if plain is not None:
        return plain.encode("utf-8")
    try:
        return _ENCODER.encode(_ordered(value, "$")).encode("utf-8")
    except UnicodeEncodeError as error:
        raise _refusal(
            "half a character (a lone surrogate)", "$", "Enter the text again."
        ) from error
    except RecursionError as error:
        raise _refusal("a value nested too deeply", "$", "Nest less.") from error


def _plain_text(value: Any) -> str | None:
    """Return the canonical form where that is sure at once; None where it takes a closer look.

    What is read back equal holds no float, no key that is not text and no number that is too
    large, and code points below the surrogates are in the order of their UTF-16 units.
    """
    try:
        text = _ORDERING_ENCODER.encode(value)
        if text.isascii() or max(text) < _SURROGATES:
            return text if _PLAIN_DECODER.decode(text) == value else None
    except (TypeError, ValueError, RecursionError):
        pass
    return None


def read_canonical(data: bytes) -> Any:
    """Read canonical bytes back; raise Damaged unless they are exactly what we would write."""
    try:
        text = data.decode("utf-8")
        if text.isascii() or max(text) < _SURROGATES:
            # here code points are in the order of UTF-16 units: writing it in order compares all
            value = _PLAIN_DECODER.decode(text)
            exact = _ORDERING_ENCODER.encode(value) == text
        else:
            value = _DECODER.decode(text)
            exact = _ENCODER.encode(value) == text
    except (ValueError, RecursionError) as error:
        raise Damaged("not-canonical", f"The bytes are no canonical JSON: {error}.") from error
    if not exact:
        raise Damaged("not-canonical", "The bytes are JSON, but not in canonical form.")
    return value


def _ordered(value: Any, where: str) -> Any:
    """Return the value with every object's keys in the order of their UTF-16 code units."""
    kind = type(value)
    if kind is str or value is None or kind is bool:
        return value
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        if abs(value) > GREATEST_INTEGER:
            raise _refusal(f"the number {value}", where, "Write it as text.")
        return value
    if isinstance(value, float):
        raise _refusal(f"the float {value!r}", where, "Write it as decimal text, like “40.50”.")
    if isinstance(value, Mapping):
        for key in value:
            if not isinstance(key, str):
                raise _refusal(f"the key {key!r}", where, "Keys are text.")
        return {key: _ordered(value[key], f"{where}.{key}") for key in sorted(value, key=_utf16)}
    if isinstance(value, Sequence) and not isinstance(value, bytes | bytearray | memoryview):
        return [_ordered(item, f"{where}[{index}]") for index, item in enumerate(value)]
    raise _refusal(f"a {type(value).__name__}", where, "Use text, whole numbers, lists, objects.")


def _utf16(key: str) -> bytes:
    return key.encode("utf-16-be")


def _refusal(what: str, where: str, fix: str) -> InputError:
    return InputError("not-recordable", f"A record cannot hold {what}.", where=where, fix=fix)


def _read_object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    units = [_utf16(key) for key, _ in pairs]
    if units != sorted(set(units)):
        raise ValueError("its keys are not in order, or not unique")
    return dict(pairs)


def _read_integer(digits: str) -> int:
    value = int(digits)
    if abs(value) > GREATEST_INTEGER:
        raise ValueError(f"{digits} is too large")
    return value


def _read_fraction(digits: str) -> Any:
    raise ValueError(f"{digits} is no whole number")


# The readers refuse what the encoder alone would not notice; the rest is compared as text
_ENCODER: Final = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))
_ORDERING_ENCODER: Final = json.JSONEncoder(
    ensure_ascii=False, separators=(",", ":"), sort_keys=True
)
_PLAIN_DECODER: Final = json.JSONDecoder(
    parse_int=_read_integer, parse_float=_read_fraction, parse_constant=_read_fraction
)
_DECODER: Final = json.JSONDecoder(
    object_pairs_hook=_read_object,
    parse_int=_read_integer,
    parse_float=_read_fraction,
    parse_constant=_read_fraction,
)
# Beyond these, UTF-16 writes two units, which come before U+E000 to U+FFFF in order
_SURROGATES: Final = "\ud800"
