"""Solve a file of any number of blends: a piece at a time, on all cores, to be taken up again.

Memory holds a few pieces, whatever the length of the file. After each piece the results are
written, then the place reached; taking up again cuts the results back to that place and goes on.
"""

import hashlib
import json
import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, Final

from closedcup.app.usecases.blend_rows import (
    ASIDE_HEADER,
    SOLVED_HEADER,
    Plan,
    Solved,
    lines_of,
    plan_from,
    solve_piece,
)
from closedcup.app.usecases.blending import Choices
from closedcup.errors import InputError
from closedcup.mixtures.sweep import NOT_A_TEST, Sweep

# About a hundred thousand rows of four amounts.
PIECE_BYTES: Final = 2_000_000
_FINGERPRINT_BYTES: Final = 65_536
Progress = Callable[[int, int], None]


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


def solve_file(
    source: Path,
    target: Path,
    choices: Choices,
    *,
    normalise: bool = False,
    workers: int | None = None,
    progress: Progress = lambda done, total: None,  # noqa: ARG005 - says nothing
    piece_bytes: int = PIECE_BYTES,
) -> dict[str, Any]:
    """Solve every row of a CSV file and return the object of `closedcup blends`.

    Results go to `target`, rows set aside to a file beside it. A run that was broken off is taken
    up where it stood. Raises InputError where the file cannot be read, the header names no liquid
    or the results belong to another file or other choices; Refused as for any blend of its
    liquids.
    """
    if not source.is_file():
        raise InputError("file-missing", f"There is no file {source.name}.", where="file",
                         fix="Give a CSV file with one column for each liquid.")  # fmt: skip
    with source.open("rb") as file:
        header = file.readline()
        plan = plan_from(header.decode("utf-8", errors="replace").strip(), choices,
                         normalise=normalise)  # fmt: skip
        made = plan.ready()
        paths = _Paths(target)
        place = _place(paths, _fingerprint(source, plan), len(header))
        begun_at = place.rows
        total = source.stat().st_size
        file.seek(place.offset)
        with ExitStack() as stack:
            results = stack.enter_context(paths.solved.open("r+b"))
            aside = stack.enter_context(paths.aside.open("r+b"))
            _cut(results, place.solved_bytes)
            _cut(aside, place.aside_bytes)
            for length, done in _solved(file, plan, made, place.rows, workers, piece_bytes):
                results.write(done.lines)
                aside.write(done.aside)
                results.flush()
                aside.flush()
                place.offset += length
                place.rows += done.rows + done.rows_aside
                place.solved += done.rows
                place.aside += done.rows_aside
                place.solved_bytes, place.aside_bytes = results.tell(), aside.tell()
                _keep(paths, place)
                progress(place.offset, total)
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
        "activity": made.flash_sum.model.name,
        "warnings": [NOT_A_TEST],
    }


class _Paths:
    """The files of one run."""

    def __init__(self, target: Path) -> None:
        self.solved = target
        self.aside = target.with_name(f"{target.stem}.set-aside{target.suffix}")
        self.place = target.with_name(f"{target.name}.place")


def _fingerprint(source: Path, plan: Plan) -> str:
    with source.open("rb") as file:
        first = file.read(_FINGERPRINT_BYTES)
    facts = [str(source.stat().st_size), repr(plan.columns), repr(plan.choices),
             repr(plan.normalise)]  # fmt: skip
    return hashlib.sha256(first + "\n".join(facts).encode()).hexdigest()


def _place(paths: _Paths, fingerprint: str, header_bytes: int) -> _Place:
    """Return where to go on, or begin."""
    if paths.place.exists():
        place = _Place(**json.loads(paths.place.read_text(encoding="utf-8")))
        if place.fingerprint == fingerprint:
            return place
        raise InputError(
            "results-of-another-file",
            f"{paths.solved.name} was begun for another file or with other choices.",
            where="output",
            fix="Name another output, or delete it with the .place file beside it.",
        )
    if paths.solved.exists():
        raise InputError(
            "output-exists",
            f"{paths.solved.name} exists already.",
            where="output",
            fix="Name another output.",
        )
    paths.solved.write_bytes(SOLVED_HEADER.encode())
    paths.aside.write_bytes(ASIDE_HEADER.encode())
    sizes = paths.solved.stat().st_size, paths.aside.stat().st_size
    place = _Place(fingerprint, header_bytes, 0, 0, 0, *sizes)
    _keep(paths, place)
    return place


def _keep(paths: _Paths, place: _Place) -> None:
    facts = {name: getattr(place, name) for name in place.__slots__}
    fresh = paths.place.with_suffix(".new")
    fresh.write_text(json.dumps(facts), encoding="utf-8")
    fresh.replace(paths.place)


def _cut(file: BinaryIO, length: int) -> None:
    file.truncate(length)
    file.seek(length)


def _pieces(file: BinaryIO, piece_bytes: int) -> Iterator[bytes]:
    while piece := file.read(piece_bytes):
        yield piece + file.readline()


def _solved(
    file: BinaryIO,
    plan: Plan,
    made: Sweep,
    rows_before: int,
    workers: int | None,
    piece_bytes: int,
) -> Iterator[tuple[int, Solved]]:
    """Yield what came of each piece, in order, with the piece's length in bytes."""
    count = workers or os.cpu_count() or 1
    first_row = rows_before + 1
    if count == 1:
        for piece in _pieces(file, piece_bytes):
            done = solve_piece(made, plan, first_row, piece)
            first_row += done.rows + done.rows_aside
            yield len(piece), done
        return
    waiting: deque[tuple[int, Future[Solved]]] = deque()
    with ProcessPoolExecutor(count, initializer=_begin, initargs=(plan,)) as pool:
        for piece in _pieces(file, piece_bytes):
            waiting.append((len(piece), pool.submit(_work, first_row, piece)))
            first_row += len(lines_of(piece))
            if len(waiting) > 2 * count:
                length, future = waiting.popleft()
                yield length, future.result()
        while waiting:
            length, future = waiting.popleft()
            yield length, future.result()


_ready: list[tuple[Plan, Sweep]] = []


def _begin(plan: Plan) -> None:
    """Make the liquids ready once in each process."""
    _ready.append((plan, plan.ready()))


def _work(first_row: int, piece: bytes) -> Solved:
    plan, made = _ready[0]
    return solve_piece(made, plan, first_row, piece)
