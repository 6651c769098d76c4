"""Checks data against typed dictionaries, and lists their keys: one definition for both."""

import math
from decimal import Decimal, InvalidOperation
from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    Final,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from closedcup.errors import InputError

_DECIMAL: Final = "a decimal string or a number"
Measured = Annotated[str | int | float, _DECIMAL]

_NAMES: Final[dict[Any, str]] = {
    str: "text", bool: "true or false", int: "a whole number", float: "a number", NoneType: "null"
}  # fmt: skip


def check_shape(value: Any, hint: Any, where: str) -> None:
    """Raise InputError, with its path, at the first part of `value` that is not as `hint` says."""
    if not _matches(value, hint, where):
        raise InputError(
            "record-shape",
            f"{where} should be {type_words(hint)}, but is {_short(value)}.",
            where=where,
        )


def _matches(value: Any, hint: Any, where: str) -> bool:
    """Check one level and go down; a mismatch further down raises with its own path."""
    origin, arguments = get_origin(hint), get_args(hint)
    if is_typeddict(hint):
        return isinstance(value, dict) and _keys_match(value, hint, where)
    if origin is Annotated:
        good = _matches(value, arguments[0], where)
        return good and (_DECIMAL not in arguments[1:] or _is_decimal(value))
    if origin is NotRequired:
        return _matches(value, arguments[0], where)
    if origin in (Union, UnionType):
        return _matches_one_of(value, arguments, where)
    if origin is Literal:
        return any(value == choice and type(value) is type(choice) for choice in arguments)
    if origin in (list, dict):
        return isinstance(value, origin) and _entries_match(value, arguments[-1], where)
    return type(value) is hint and (hint is not float or math.isfinite(value))


def _entries_match(value: list[Any] | dict[str, Any], hint: Any, where: str) -> bool:
    entries = value.items() if isinstance(value, dict) else enumerate(value)
    for key, entry in entries:
        check_shape(entry, hint, f"{where}.{key}" if isinstance(value, dict) else f"{where}[{key}]")
    return True


def _matches_one_of(value: Any, choices: tuple[Any, ...], where: str) -> bool:
    """Try the choice with inner parts only on an object or list, so that its path is told."""
    if value is None:
        return NoneType in choices
    return any(_matches(value, choice, where) for choice in choices if choice is not NoneType)


def _keys_match(value: dict[str, Any], hint: Any, where: str) -> bool:
    for key, inner in get_type_hints(hint, include_extras=True).items():
        if key in value:
            check_shape(value[key], inner, f"{where}.{key}")
        elif get_origin(inner) is not NotRequired:
            raise InputError(
                "record-key-missing",
                f"The key {key!r} is missing.",
                where=where,
                fix="Give it; null stands for 'none' where the format allows that.",
            )
    return True


def _is_decimal(value: Any) -> bool:
    if not isinstance(value, str):
        return True
    try:
        return Decimal(value).is_finite() and value == value.strip()
    except InvalidOperation:
        return False


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def type_words(hint: Any) -> str:
    """Say in words what a type hint allows."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _DECIMAL if _DECIMAL in arguments[1:] else type_words(arguments[0])
    if origin is NotRequired:
        return f"{type_words(arguments[0])} (may be left out)"
    if origin in (Union, UnionType):
        return " or ".join(type_words(choice) for choice in arguments)
    if origin is Literal:
        return " or ".join(repr(choice) for choice in arguments)
    if origin is list:
        return f"a list, each {type_words(arguments[0])}"
    if origin is dict:
        return f"an object of {type_words(arguments[1])}"
    return "an object" if is_typeddict(hint) else _NAMES[hint]


def describe(hint: Any, path: str = "") -> list[tuple[str, str, str]]:
    """List (path, what is allowed, meaning) of every key below a typed dictionary."""
    rows: list[tuple[str, str, str]] = []
    for key, inner in get_type_hints(hint, include_extras=True).items():
        here = f"{path}.{key}" if path else key
        below, many = _object_below(inner)
        meaning = _meaning(inner) or (_first_line(below) if below else "")
        rows.append((here + many, type_words(inner), meaning))
        if below:
            rows += describe(below, here + many)
    return rows


def _object_below(hint: Any) -> tuple[Any, str]:
    """Find the typed dictionary in a hint, with "[]" if there is a list of them."""
    if is_typeddict(hint):
        return hint, ""
    for argument in get_args(hint):
        found, many = _object_below(argument)
        if found:
            return found, "[]" if get_origin(hint) is list else many
    return None, ""


def _meaning(hint: Any) -> str:
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is NotRequired:
        return _meaning(arguments[0])
    if origin is Annotated:
        return next((text for text in arguments[1:] if text != _DECIMAL), "")
    return ""


def _first_line(hint: Any) -> str:
    return str(hint.__doc__).splitlines()[0]
