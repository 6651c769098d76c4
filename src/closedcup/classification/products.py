"""Which groups of the rules a product kind belongs to."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files


@cache
def _groups() -> Mapping[str, frozenset[str]]:
    text = (files(__package__) / "data" / "products.toml").read_text(encoding="utf-8")
    kinds: dict[str, set[str]] = {}
    for group, members in tomllib.loads(text)["groups"].items():
        for kind in (group, *members):
            kinds.setdefault(kind.lower(), set()).add(group)
    return {kind: frozenset(groups) for kind, groups in kinds.items()}


def product_groups(kind: str) -> frozenset[str]:
    """Return the groups that a product kind belongs to; none for a kind that no rule names."""
    return _groups().get(" ".join(kind.lower().replace("_", " ").split()), frozenset())


def product_kinds() -> tuple[str, ...]:
    """Return the product kinds that some rule names, in lower case."""
    return tuple(sorted(_groups()))
