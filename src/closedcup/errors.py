"""What closedcup says when it cannot answer.

    ClosedcupError
    ├── InputError     what was entered is wrong               exit status 2
    │   └── Conflict   somebody else's entry came first
    ├── Refused        no honest answer can be given           exit status 3
    └── Damaged        a file is not, or no longer, what it claims to be

Each says what was wrong, where, and what would fix it. `kind` is a stable word for programs.
"""

from typing import ClassVar


class ClosedcupError(Exception):
    """An answer that is not a number: what, where and how to fix it."""

    exit_status: ClassVar[int] = 1

    def __init__(self, kind: str, what: str, *, where: str = "", fix: str = "") -> None:
        super().__init__(what)
        self.kind = kind
        self.what = what
        self.where = where
        self.fix = fix

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        remedy = f" {self.fix}" if self.fix else ""
        return f"{place}{self.what}{remedy}"

    def as_json(self) -> dict[str, dict[str, str]]:
        """Return the object printed with `--json`."""
        return {
            "error": {"kind": self.kind, "what": self.what, "where": self.where, "fix": self.fix}
        }


class InputError(ClosedcupError):
    """What was entered cannot be used."""

    exit_status = 2


class Conflict(InputError):
    """Another entry stands where this one should go."""


class Refused(ClosedcupError):
    """The question is understood; an honest answer is not possible."""

    exit_status = 3


class Damaged(ClosedcupError):
    """A file is not what it claims to be."""

    exit_status = 2
