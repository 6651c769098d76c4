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
    try:
        return _ENCODER.encode(_ordered(value, "$")).encode("utf-8")
    except UnicodeEncodeError as error:
        raise _refusal(
            "half a character (a lone surrogate)", "$", "Enter the text again."
        ) from error
    except RecursionError as error:
        raise _refusal("a value nested too deeply", "$", "Nest less.") from error


def read_canonical(data: bytes) -> Any:
    """Read canonical bytes back; raise Damaged unless they are exactly what we would write."""
    try:
        value = _DECODER.decode(data.decode("utf-8"))
        exact = _ENCODER.encode(value).encode("utf-8") == data
    except (ValueError, RecursionError) as error:
        raise Damaged("not-canonical", f"The bytes are no canonical JSON: {error}.") from error
    if not exact:
        raise Damaged("not-canonical", "The bytes are JSON, but not in canonical form.")
    return value


def _ordered(value: Any, where: str) -> Any:
    """Return the value with every object's keys in the order of their UTF-16 code units."""
    if value is None or isinstance(value, str | bool):
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
    keys = [key for key, _ in pairs]
    # code points of ASCII are in the order of their UTF-16 units
    units: list[Any] = keys if "".join(keys).isascii() else [_utf16(key) for key in keys]
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


# The readers refuse what the encoder alone would not notice; the rest is compared byte by byte
_ENCODER: Final = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))
_DECODER: Final = json.JSONDecoder(
    object_pairs_hook=_read_object,
    parse_int=_read_integer,
    parse_float=_read_fraction,
    parse_constant=_read_fraction,
)
