"""One number with its unit, its source and how it is known."""

from dataclasses import dataclass
from typing import Final, Literal, get_args

from closedcup.errors import Damaged

Known = Literal["read", "package", "memory", "common practice", "user"]
KNOWN: Final[tuple[Known, ...]] = get_args(Known)


def parse_known(text: str, *, where: str) -> Known:
    """Accept only one of the five words; raise Damaged for anything else."""
    if text not in KNOWN:
        raise Damaged(
            "unknown-provenance",
            f"“{text}” is not a way of knowing.",
            where=where,
            fix=f"Use one of: {', '.join(KNOWN)}.",
        )
    return text


@dataclass(frozen=True, slots=True)
class Cited:
    """A number, its unit, the key of its source and how it is known.

    read: seen in the source; package: a named package's data file; memory: recalled from the
    source, not seen; common practice: the trade's habit, no source; user: the laboratory's own.
    """

    value: float
    unit: str
    source: str
    known: Known
    clause: str = ""

    def as_json(self, value_of: str) -> dict[str, str]:
        """Return the entry of a `sources` list."""
        source = f"{self.source}, {self.clause}" if self.clause else self.source
        return {"value_of": value_of, "source": source, "known": self.known}
