"""Values of the laboratory to the body of an event and back, without loss.

A body holds words, whole numbers, yes/no, lists and objects, never a binary fraction: `Decimal`
keeps its digits (40.50 stays "40.50") and a computed float is written so that the same float
comes back. An answer as issued (a mapping) is kept as the JSON text that was given.
"""

import json
import types
from collections.abc import Hashable, Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from closedcup.errors import Damaged

Body = dict[str, Any]
T = TypeVar("T")


def to_body(value: object) -> Body:
    """Write a frozen dataclass as the body of an event."""
    if not is_dataclass(value):
        raise TypeError(f"{type(value).__name__} is not a value of the laboratory")
    return {field.name: _encode(getattr(value, field.name)) for field in fields(value)}


def _encode(value: object) -> object:
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, str):
        return value
    if isinstance(value, float):
        return repr(float(value))
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, tuple | list):
        return [_encode(item) for item in value]
    if isinstance(value, Mapping):
        return json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False)
    return to_body(value)


def from_body(kind: type[T], body: Mapping[str, Any]) -> T:
    """Read a frozen dataclass back; raise Damaged when the body does not fit it."""
    hints = _hints(cast("Hashable", kind))
    try:
        known = {name: _decode(hints[name], item) for name, item in body.items() if name in hints}
        return kind(**known)
    except (TypeError, ValueError, ArithmeticError, KeyError) as error:
        raise Damaged(
            "body-unreadable",
            f"An entry does not hold a {kind.__name__}: {error}.",
            where=str(body)[:80],
        ) from error


@cache
def _hints(kind: Hashable) -> dict[str, Any]:
    return get_type_hints(kind)


def _decode(hint: Any, item: Any) -> Any:
    origin = get_origin(hint)
    if origin in {Union, types.UnionType}:
        if item is None:
            return None
        return _decode(next(arg for arg in get_args(hint) if arg is not type(None)), item)
    if origin is tuple:
        return tuple(_decode(get_args(hint)[0], part) for part in item)
    if origin is Mapping:
        return json.loads(item)
    if origin is Literal or hint in {str, bool, int}:
        return item
    if hint is float:
        return float(item)
    if is_dataclass(hint):
        return from_body(cast("type", hint), item)
    return hint(item)
