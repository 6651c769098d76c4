"""Canonical JSON (RFC 8785): the same facts always give the same bytes.

No white space, keys in order of their UTF-16 code units, strings escaped as little as JSON
allows, numbers as ECMAScript writes them. Measured values should be decimal strings, since as
numbers 40.50 and 40.5 are one value.
"""

import json
import math
from typing import Any, Final

from closedcup.errors import InputError

_LARGEST_INTEGER: Final = 2**53 - 1  # RFC 8785 and I-JSON: beyond this readers disagree


def canonical_json(value: Any) -> bytes:
    """Return `value` (dict, list, str, int, float, bool, None) as canonical JSON in UTF-8.

    Raises InputError for a number that JSON readers do not share: NaN, infinity, an integer
    beyond 2^53 - 1; for a key that is not text; and for text that is not valid Unicode.
    """
    try:
        return _write(value).encode()
    except UnicodeEncodeError as error:
        raise InputError(
            "not-text", "A text holds half of a character pair.", fix="Enter it again."
        ) from error


def _write(value: Any) -> str:
    match value:
        case None | bool() | str():
            return json.dumps(value, ensure_ascii=False)
        case int():
            if abs(value) > _LARGEST_INTEGER:
                raise _unshared(value)
            return str(value)
        case float():
            return _write_float(value)
        case list() | tuple():
            return "[" + ",".join(map(_write, value)) + "]"
        case dict() if all(isinstance(key, str) for key in value):
            keys = sorted(value, key=lambda key: key.encode("utf-16-be", "surrogatepass"))
            return "{" + ",".join(f"{_write(key)}:{_write(value[key])}" for key in keys) + "}"
    raise InputError(
        "not-json",
        f"{type(value).__name__} has no form in JSON.",
        fix="Use text, numbers, true or false, lists and objects with text keys.",
    )


def _write_float(value: float) -> str:
    """Write a number as ECMAScript does: shortest digits, exponent outside 1e-6 to 1e21."""
    if not math.isfinite(value):
        raise _unshared(value)
    if value == 0:
        return "0"
    sign = "-" if value < 0 else ""
    mantissa, exponent = f"{abs(value)!r}e0".split("e")[:2]
    whole, _, part = mantissa.partition(".")
    part = "" if part == "0" else part
    digits = (whole + part).lstrip("0")
    # The value is 0.DIGITS times ten to the `point`.
    point = len(whole) + int(exponent) - (len(whole + part) - len(digits))
    digits = digits.rstrip("0")
    if len(digits) <= point <= 21:
        return sign + digits.ljust(point, "0")
    if 0 < point <= 21:
        return f"{sign}{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return f"{sign}0.{'0' * -point}{digits}"
    power = point - 1
    tail = f".{digits[1:]}" if len(digits) > 1 else ""
    return f"{sign}{digits[0]}{tail}e{'+' if power > 0 else '-'}{abs(power)}"


def _unshared(value: float) -> InputError:
    return InputError(
        "not-a-shared-number",
        f"{value!r} cannot be stored as a JSON number that every reader understands.",
        fix="Give it as text.",
    )
