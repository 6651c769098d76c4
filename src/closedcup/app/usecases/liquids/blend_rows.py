"""One piece of a file of blends: solve its rows together, write what came of each.

A row that cannot be used, or that no honest answer can be given for, is set aside with its number
and the reason; it stops nothing.
"""

import pickle
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.liquids.blend_sources import ID, Piece
from closedcup.app.usecases.liquids.blending import Choices, basis_of, refuse_repeats
from closedcup.mixtures import find
from closedcup.mixtures.blend import SUM_TOLERANCE
from closedcup.mixtures.many_blends import ManyBlends

Array = NDArray[np.float64]

SOLVED_HEADER: Final = "row,id,flash_point_c,liquid_phases,no_flash,notes\n"
ASIDE_HEADER: Final = "row,id,reason\n"


@dataclass(frozen=True, slots=True)
class Plan:
    """How every piece of one file is solved; plain values, to be sent to another process."""

    columns: tuple[str, ...]
    choices: Choices
    normalise: bool

    @property
    def liquids(self) -> tuple[str, ...]:
        """The columns that are liquids."""
        return self.columns[1:] if self.columns[0] == ID else self.columns

    def ready(self) -> ManyBlends:
        """Make the liquids ready; InputError for one that is unknown or named twice."""
        liquids = [
            find(name, where=f"column {name}", own=self.choices.own) for name in self.liquids
        ]
        refuse_repeats(liquids)
        return ManyBlends(
            tuple(liquids), basis_of(self.choices), self.choices.activity, self.choices.parameters
        )


@dataclass(frozen=True, slots=True)
class Solved:
    """What came of one piece: lines to write, and how many rows went where."""

    lines: bytes
    aside: bytes
    rows: int
    rows_aside: int


def solve_packed(plan: bytes, first_row: int, piece: Piece) -> Solved:
    """Solve a piece by a plan that was packed to be sent; liquids are made ready once."""
    return solve_piece(*_unpacked(plan), first_row, piece)


@lru_cache(maxsize=4)
def _unpacked(plan: bytes) -> tuple[ManyBlends, Plan]:
    found: Plan = pickle.loads(plan)  # noqa: S301 - packed by the same program, for its own workers
    return found.ready(), found


def solve_piece(made: ManyBlends, plan: Plan, first_row: int, piece: Piece) -> Solved:
    """Solve the rows of a piece of the file; `first_row` is the number of its first."""
    read = piece.read()
    reasons = list(read.reasons)
    for i, reason in _impossible(read.amounts, normalise=plan.normalise):
        reasons[i] = reasons[i] or reason
    rows = np.flatnonzero([not reason for reason in reasons])
    solved = made.at(read.amounts[rows])
    lines = []
    for i, flash_c, count, why, note, refused in zip(
        rows.tolist(), solved.flash_c.tolist(), solved.liquid_phases.tolist(),
        solved.no_flash.tolist(), solved.notes, solved.refused, strict=True,
    ):  # fmt: skip
        if refused:
            reasons[i] = refused
            continue
        number = "" if flash_c != flash_c else format(flash_c, ".3f")  # noqa: PLR0124 - nan
        text = f'"{note}"' if note else ""
        lines.append(f"{first_row + i},{_cell(read.ids[i])},{number},{count},{why},{text}")
    aside = [
        f"{first_row + i},{_cell(read.ids[i])},{_cell(reason)}"
        for i, reason in enumerate(reasons)
        if reason
    ]
    return Solved(_joined(lines), _joined(aside), len(lines), len(aside))


def _joined(lines: Sequence[str]) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()


def _cell(text: str) -> str:
    """Quote a text where a CSV file needs it."""
    if "," in text or '"' in text or "\n" in text or "\r" in text:
        return '"' + text.replace('"', '""') + '"'
    return text


def _impossible(amounts: Array, *, normalise: bool) -> list[tuple[int, str]]:
    """Return the rows whose amounts cannot be a composition, with the reason."""
    with np.errstate(invalid="ignore"):
        total = amounts.sum(axis=1)
        finite = np.asarray(np.isfinite(amounts).all(axis=1))
        negative = np.asarray((amounts < 0).any(axis=1))
        empty = total <= 0
        unequal = np.abs(total - 1) > SUM_TOLERANCE
    wrong = ~finite | negative | empty | (unequal & (not normalise))
    found = []
    for i in np.flatnonzero(wrong).tolist():
        if not finite[i]:
            reason = "an amount is not a finite number"
        elif negative[i]:
            reason = "an amount is negative"
        elif empty[i]:
            reason = "no amount is above zero"
        else:
            reason = f"the amounts sum to {total[i]:.6g} not 1"
        found.append((i, reason))
    return found
