"""The published methods that the program knows, by their designation in lower case."""

import difflib
from functools import cache
from importlib.resources import files

from closedcup.errors import InputError
from closedcup.methods.method_file import MethodFile
from closedcup.methods.published_method import Method
from closedcup.sources import Bibliography, load_bibliography


@cache
def bibliography() -> Bibliography:
    """Return the sources of the methods' numbers."""
    return load_bibliography(files("closedcup.methods") / "data" / "sources.csv")


@cache
def _by_id() -> dict[str, Method]:
    folder = files("closedcup.methods") / "data"
    found = [
        MethodFile(file, bibliography()).method()
        for file in folder.iterdir()
        if file.name.endswith(".toml")
    ]
    return {method.id: method for method in sorted(found, key=lambda method: method.id)}


def methods() -> tuple[Method, ...]:
    """Return every method, sorted by identifier."""
    return tuple(_by_id().values())


def _named(asked: str, other: Method) -> bool:
    """Say whether a method is the one asked for under another standard's designation."""
    plain = asked.replace("-", " ").removeprefix("astm ")
    return any(plain in name.lower().removeprefix("astm ") for name in other.equivalents)


def method(identifier: str) -> Method:
    """Return a method by its identifier ("d3828-b"); InputError names the nearest."""
    known = _by_id()
    asked = identifier.strip().lower()
    if asked in known:
        return known[asked]
    near = (
        [key for key in known if key.startswith(asked) or asked.startswith(key)]
        or [key for key, one in known.items() if _named(asked, one)]
        or difflib.get_close_matches(asked, known, n=3, cutoff=0.4)
    )
    raise InputError(
        "method-unknown",
        f"There is no method “{identifier}”.",
        where="method",
        fix=f"Did you mean {', '.join(near)}?" if near else f"The methods are: {', '.join(known)}.",
    )
