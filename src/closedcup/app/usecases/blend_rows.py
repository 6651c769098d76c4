"""One piece of a file of blends: read its rows, solve them together, write what came of each.

A file has one column for each liquid (name or CAS number) and, if it likes, a first column "id".
A row that cannot be used is set aside with its number and the reason; it stops nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.blending import Choices, ready
from closedcup.errors import InputError
from closedcup.mixtures.blend import SUM_TOLERANCE
from closedcup.mixtures.sweep import Sweep

Array = NDArray[np.float64]

ID: Final = "id"
SOLVED_HEADER: Final = "row,id,flash_point_c,liquid_phases,no_flash\n"
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
        return self.columns[1:] if self.has_id else self.columns

    @property
    def has_id(self) -> bool:
        """Whether the first column names the rows."""
        return self.columns[0] == ID

    def ready(self) -> Sweep:
        """Make the liquids ready; refusals are those of any blend of all of them."""
        return ready(self.liquids, self.choices)


@dataclass(frozen=True, slots=True)
class Solved:
    """What came of one piece: lines to write, and how many rows went where."""

    lines: bytes
    aside: bytes
    rows: int
    rows_aside: int


def plan_from(header: str, choices: Choices, *, normalise: bool) -> Plan:
    """Read the header of a file; InputError where it names no liquid."""
    columns = tuple(name.strip().strip('"') for name in header.lstrip("\ufeff").split(","))
    plan = Plan(columns, choices, normalise)
    if not plan.liquids or not all(plan.liquids):
        raise InputError(
            "no-liquid-columns",
            "The first line of the file must name a liquid for each column.",
            where="header",
            fix="Write, for example: id,ethanol,water,acetone",
        )
    return plan


def lines_of(piece: bytes) -> list[str]:
    """Return the lines of a piece, which end with a line feed or carriage return and line feed."""
    texts = piece.decode("utf-8", errors="replace").removesuffix("\n").split("\n")
    return [text.removesuffix("\r") for text in texts]


def solve_piece(made: Sweep, plan: Plan, first_row: int, piece: bytes) -> Solved:
    """Solve the rows of a piece of the file; `first_row` is the number of its first."""
    texts = lines_of(piece)
    ids, amounts, reasons = _read(plan, texts)
    usable = np.array([not reason for reason in reasons], dtype=bool)
    rows = np.flatnonzero(usable)
    flash_c = np.full(len(texts), np.nan)
    phases, why = np.zeros(len(texts), dtype=int), np.full(len(texts), "", dtype="U64")
    if len(rows):
        swept = made.at(amounts[rows])
        flash_c[rows], phases[rows], why[rows] = swept.flash_c, swept.liquid_phases, swept.no_flash
    lines = [
        f"{first_row + i},{ids[i]},{'' if np.isnan(flash) else format(flash, '.3f')},{count},{note}"
        for i, flash, count, note in zip(
            rows.tolist(),
            flash_c[rows].tolist(),
            phases[rows].tolist(),
            why[rows].tolist(),
            strict=True,
        )
    ]
    aside = [f'{first_row + i},{ids[i]},"{reasons[i]}"' for i in np.flatnonzero(~usable).tolist()]
    return Solved(_joined(lines), _joined(aside), len(rows), len(aside))


def _joined(lines: Sequence[str]) -> bytes:
    return "".join(f"{line}\n" for line in lines).encode()


def _read(plan: Plan, texts: Sequence[str]) -> tuple[list[str], Array, list[str]]:
    """Return the ids, the amounts (rows, liquids), and for each row why it cannot be used."""
    ids = [text.partition(",")[0] for text in texts] if plan.has_id else [""] * len(texts)
    numbers = [text.partition(",")[2] for text in texts] if plan.has_id else list(texts)
    count = len(plan.liquids)
    quick = _numbers(numbers, (len(texts), count))
    if quick is not None:
        amounts, reasons = quick, [""] * len(texts)
    else:  # some row is not all numbers: read one by one to say which
        amounts = np.zeros((len(texts), count))
        reasons = [_read_row(text, amounts[i]) for i, text in enumerate(numbers)]
    for i, reason in _impossible(amounts, normalise=plan.normalise):
        reasons[i] = reasons[i] or reason
    return ids, amounts, reasons


def _numbers(texts: Sequence[str], shape: tuple[int, int]) -> Array | None:
    """Read all rows at once; None where any of them is not what it should be."""
    try:
        amounts: Array = np.loadtxt(texts, delimiter=",", ndmin=2, comments=None)
    except ValueError:
        return None
    return amounts if amounts.shape == shape else None


def _read_row(text: str, amounts: Array) -> str:
    cells = text.split(",")
    if len(cells) != len(amounts):
        return f"{len(cells)} amounts for {len(amounts)} liquids"
    for place, cell in enumerate(cells):
        try:
            amounts[place] = float(cell) if cell.strip() else 0.0
        except ValueError:
            return f"“{cell.strip()[:20]}” is not a number".replace('"', "'")
    return ""


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
