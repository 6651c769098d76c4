"""What can be filled from a table, kind by kind; the words by which headings are recognised.

Those words are the trade's habit (common practice); no number rests on them.
"""

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, cast

from closedcup.errors import InputError

FieldType = Literal[
    "text", "number", "temperature", "difference", "volume", "fraction", "moment", "yes/no"
]


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that a row can fill."""

    name: str
    type: FieldType
    required: bool
    aliases: tuple[str, ...]
    meaning: str

    @property
    def has_unit(self) -> bool:
        """Whether its column needs a unit, or can be per cent."""
        return self.type in ("temperature", "difference", "volume", "fraction")

    def is_meant_by(self, heading: str) -> bool:
        """Whether a heading, its unit left out, is this field's name or one of its aliases."""
        return _plain(heading) in {_plain(name) for name in (self.name, *self.aliases)}


def _plain(heading: str) -> str:
    without_unit = re.sub(r"[\[(].*?[\])]", "", heading)
    return re.sub(r"[^\w%]+", " ", without_unit.casefold().replace("_", " ")).strip()


@cache
def _all_fields() -> dict[str, tuple[Field, ...]]:
    found: dict[str, tuple[Field, ...]] = {}
    place = files("closedcup.app.usecases.importing") / "data" / "fields.csv"
    for row in csv.DictReader(place.read_text("utf-8").splitlines()):
        made = Field(
            name=row["field"],
            type=cast("FieldType", row["type"]),
            required=row["required"] == "yes",
            aliases=tuple(filter(None, row["aliases"].split("|"))),
            meaning=row["meaning"],
        )
        found[row["kind"]] = (*found.get(row["kind"], ()), made)
    return found


def kinds() -> tuple[str, ...]:
    """Return the kinds of thing that can be imported."""
    return tuple(_all_fields())


def fields_of(kind: str) -> tuple[Field, ...]:
    """Return the fields of a kind; InputError for a kind that cannot be imported."""
    if kind not in _all_fields():
        raise InputError(
            "import-kind-unknown",
            f"“{kind}” cannot be imported.",
            where="import",
            fix=f"Say one of: {', '.join(kinds())}.",
        )
    return _all_fields()[kind]
