"""Solve a file of any number of blends: a piece at a time, to be taken up again.

Memory holds a few pieces, whatever the length of the file. After each piece the results are
written, then the place reached; taking up again cuts the results back to that place and goes on.
Results that are wanted as Parquet are kept as lines until the end, and turned into it then.
"""

import json
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from os import SEEK_END
from pathlib import Path
from typing import Any, BinaryIO, Final

from closedcup.app.usecases.liquids.blend_results import write_parquet
from closedcup.app.usecases.liquids.blend_rows import ASIDE_HEADER, SOLVED_HEADER, Plan
from closedcup.app.usecases.liquids.blend_sources import (
    PARQUET,
    PIECE_BYTES,
    PIECE_ROWS,
    fingerprint,
    open_source,
)
from closedcup.app.usecases.liquids.blend_workers import solved_pieces
from closedcup.app.usecases.liquids.blending import Choices
from closedcup.errors import InputError
from closedcup.mixtures.many_blends import ManyBlends
from closedcup.mixtures.sweep import NOT_A_TEST

Progress = Callable[[int, int], None]
CSV: Final = ".csv"


@dataclass(slots=True)
class _Place:
    """How far a file is solved, and how long the two results are by then."""

    fingerprint: str
    offset: int
    rows: int
    solved: int
    aside: int
    solved_bytes: int
    aside_bytes: int


@dataclass(frozen=True, slots=True)
class Run:
    """How a file is solved: by whom, and in pieces of what size. None of it changes a number."""

    workers: int | None = None
    scheduler: str | None = None
    piece_bytes: int = PIECE_BYTES
    piece_rows: int = PIECE_ROWS


def solve_file(
    source: Path,
    target: Path,
    choices: Choices,
    *,
    normalise: bool = False,
    run: Run | None = None,
    progress: Progress = lambda done, total: None,  # noqa: ARG005 - says nothing
) -> dict[str, Any]:
    """Solve every row of a CSV or Parquet file and return the object of `closedcup blends`.

    Results go to `target` (CSV or Parquet, by its ending), rows set aside to a CSV file beside it.
    A run that was broken off is taken up where it stood. Raises InputError where the file cannot
    be read, a column names no liquid, or the results belong to another file or other choices.
    """
    run = run or Run()
    opened = open_source(source, run.piece_bytes, run.piece_rows)
    plan = Plan(opened.columns, choices, normalise)
    made = plan.ready()
    paths = _Paths(target)
    place = _place(paths, fingerprint(source, f"{plan!r} {run.piece_bytes} {run.piece_rows}"),
                   opened.start)  # fmt: skip
    begun_at = place.rows
    workers = 1 if opened.total <= _one_piece(source, run) else run.workers
    with ExitStack() as stack:
        results = stack.enter_context(paths.lines.open("r+b"))
        aside = stack.enter_context(paths.aside.open("r+b"))
        _cut(results, place.solved_bytes)
        _cut(aside, place.aside_bytes)
        pieces = opened.pieces(place.offset)
        for piece, done in solved_pieces(
            plan, pieces, place.rows + 1, workers=workers, scheduler=run.scheduler
        ):
            results.write(done.lines)
            aside.write(done.aside)
            results.flush()
            aside.flush()
            place.offset += piece.length
            place.rows += piece.rows
            place.solved += done.rows
            place.aside += done.rows_aside
            place.solved_bytes, place.aside_bytes = results.tell(), aside.tell()
            _keep(paths, place)
            progress(place.offset, opened.total)
    if paths.lines != paths.solved:
        write_parquet(paths.lines, paths.solved)
        paths.lines.unlink()
    paths.place.unlink(missing_ok=True)
    return {
        "file": str(source),
        "results": str(paths.solved),
        "set_aside": str(paths.aside),
        "rows": place.rows,
        "solved": place.solved,
        "rows_set_aside": place.aside,
        "taken_up_at_row": begun_at + 1 if begun_at else None,
        "liquids": [liquid.name for liquid in made.liquids],
        "basis": choices.basis,
        "activity": choices.activity,
        "warnings": _warnings(made),
    }


def rows_kept(target: Path) -> int | None:
    """Return how many rows of a run that was broken off are kept; None where there is none."""
    place = _Paths(target).place
    if not place.exists():
        return None
    return _Place(**json.loads(place.read_text(encoding="utf-8"))).rows


def _one_piece(source: Path, run: Run) -> int:
    """Return the length of a file that one piece holds: it is not worth a second process."""
    return run.piece_rows if source.suffix.lower() == PARQUET else run.piece_bytes


def _warnings(made: ManyBlends) -> list[str]:
    return [
        NOT_A_TEST,
        *(f"Every row with {name} is set aside: {why}" for name, why in made.refusals().items()),
        *made.pure_warnings(),
    ]


class _Paths:
    """The files of one run: results, the lines that become them, rows set aside, the place."""

    def __init__(self, target: Path) -> None:
        if target.suffix.lower() not in (CSV, PARQUET):
            raise InputError(
                "output-unknown",
                f"{target.name} is neither .csv nor .parquet.",
                where="output",
                fix="Name an output that ends in .csv or .parquet.",
            )
        self.solved = target
        is_csv = target.suffix.lower() == CSV
        self.lines = target if is_csv else target.with_name(f"{target.name}.lines")
        self.aside = target.with_name(f"{target.stem}.set-aside{CSV}")
        self.place = target.with_name(f"{target.name}.place")


def _place(paths: _Paths, mark: str, start: int) -> _Place:
    """Return where to go on, or begin."""
    if paths.place.exists():
        place = _Place(**json.loads(paths.place.read_text(encoding="utf-8")))
        if place.fingerprint == mark:
            return place
        raise InputError(
            "results-of-another-file",
            f"{paths.solved.name} was begun for another file or with other choices.",
            where="output",
            fix=f"Name another output, or delete {paths.place.name} and what was begun beside it.",
        )
    if paths.solved.exists():
        raise InputError(
            "output-exists",
            f"{paths.solved.name} exists already.",
            where="output",
            fix="Name another output.",
        )
    paths.lines.write_bytes(SOLVED_HEADER.encode())
    paths.aside.write_bytes(ASIDE_HEADER.encode())
    sizes = paths.lines.stat().st_size, paths.aside.stat().st_size
    place = _Place(mark, start, 0, 0, 0, *sizes)
    _keep(paths, place)
    return place


def _keep(paths: _Paths, place: _Place) -> None:
    facts = {name: getattr(place, name) for name in place.__slots__}
    fresh = paths.place.with_suffix(".new")
    fresh.write_text(json.dumps(facts), encoding="utf-8")
    fresh.replace(paths.place)


def _cut(file: BinaryIO, length: int) -> None:
    """Cut a file back to what is known to be whole; refuse one that lacks some of it."""
    if file.seek(0, SEEK_END) < length:
        raise InputError(
            "results-cut-short",
            f"{Path(file.name).name} is shorter than it was when the run was broken off.",
            where="output",
            fix="Delete it with the .place file beside it, and begin again.",
        )
    file.truncate(length)
    file.seek(length)
