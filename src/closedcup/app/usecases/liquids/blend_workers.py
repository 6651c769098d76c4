"""Who solves the pieces of a file: this process, all cores of this machine, or many machines.

All do the same work on the same pieces and hand it back in order, so the numbers are the same.
Only a few pieces are on their way at any time.
"""

import logging
import os
import pickle
import signal
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any, Final, Protocol

from closedcup import __version__
from closedcup.app.usecases.liquids.blend_rows import Plan, Solved, solve_packed
from closedcup.app.usecases.liquids.blend_sources import Piece
from closedcup.errors import InputError, Refused

# Pieces on their way for each worker: one at work, one waiting, one coming back.
PIECES_EACH: Final = 3
CONNECT_S: Final = 15
# How often a piece is tried on another machine when one is lost.
RETRIES: Final = 3

Submit = Callable[[int, Piece], "Pending"]


class Pending(Protocol):
    """A piece that is being solved."""

    def result(self) -> Solved:
        """Wait for what came of it."""
        ...


def solved_pieces(
    plan: Plan,
    pieces: Iterator[Piece],
    first_row: int,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
) -> Iterator[tuple[Piece, Solved]]:
    """Yield each piece with what came of it, in order.

    `workers` processes of this machine (else one for each core), or the workers of a Dask
    `scheduler`. Raises InputError where the scheduler cannot be used, Refused where it, or a
    process, is lost on the way.
    """
    packed = pickle.dumps(plan)
    count = workers or os.cpu_count() or 1
    if scheduler is not None:
        with _machines(packed, scheduler) as (submit, width):
            yield from _in_order(submit, pieces, first_row, width)
    elif count == 1:
        for piece in pieces:
            yield piece, solve_packed(packed, first_row, piece)
            first_row += piece.rows
    else:
        with _cores(packed, count) as submit:
            yield from _in_order(submit, pieces, first_row, count)


def _in_order(
    submit: Submit, pieces: Iterator[Piece], first_row: int, width: int
) -> Iterator[tuple[Piece, Solved]]:
    waiting: deque[tuple[Piece, Pending]] = deque()
    for piece in pieces:
        waiting.append((piece, submit(first_row, piece)))
        first_row += piece.rows
        if len(waiting) >= PIECES_EACH * width:
            oldest, pending = waiting.popleft()
            yield oldest, pending.result()
    while waiting:
        oldest, pending = waiting.popleft()
        yield oldest, pending.result()


@contextmanager
def _cores(packed: bytes, count: int) -> Iterator[Submit]:
    """Solve in processes of this machine; what is not done is dropped when the run is stopped."""
    pool = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_leave_stopping)
    try:
        yield lambda first_row, piece: pool.submit(solve_packed, packed, first_row, piece)
    except BrokenProcessPool as error:
        raise Refused(
            "process-lost",
            "A process that solved blends has ended (out of memory?).",
            where="workers",
            fix="Give the same command again with fewer --workers: it goes on where it stood.",
        ) from error
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _leave_stopping() -> None:
    """Leave Ctrl-C to the process that was started by hand."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _machines(packed: bytes, address: str) -> Iterator[tuple[Submit, int]]:
    """Solve on the workers of a Dask scheduler."""
    distributed = _distributed()
    try:
        client = distributed.Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise InputError(
            "scheduler-unreachable",
            f"There is no Dask scheduler at {address} ({error}).",
            where="scheduler",
            fix="Start one with “dask scheduler” and give its address, such as tcp://host:8786.",
        ) from error
    try:
        width = _width(client, address)
        yield (
            lambda first_row, piece: client.submit(
                solve_packed, packed, first_row, piece, pure=False, retries=RETRIES
            ),
            width,
        )
    except _lost(distributed) as error:
        raise Refused(
            "scheduler-lost",
            f"The Dask scheduler at {address}, or a piece on its workers, was lost.",
            where="scheduler",
            fix="Give the same command again when they are back: it goes on where it stood.",
        ) from error
    finally:
        client.close()


def _width(client: Any, address: str) -> int:
    """Return how many pieces the workers solve at once; refuse workers of another version."""
    try:
        client.wait_for_workers(1, timeout=CONNECT_S)
    except TimeoutError as error:
        raise InputError(
            "no-workers",
            f"The Dask scheduler at {address} has no workers.",
            where="scheduler",
            fix=f"Start them with “dask worker {address}” where closedcup is installed.",
        ) from error
    versions = client.run(version, on_error="return")
    strange = {str(found) for found in versions.values()} - {__version__}
    if strange:
        raise InputError(
            "worker-version",
            f"A worker does not run closedcup {__version__}: {', '.join(sorted(strange))}.",
            where="scheduler",
            fix="Install the same version of closedcup on every machine.",
        )
    return int(sum(client.nthreads().values()))


def version() -> str:
    """Return this program's version; asked of every worker."""
    return __version__


def _lost(distributed: Any) -> tuple[type[BaseException], ...]:
    killed: type[BaseException] = distributed.scheduler.KilledWorker
    return OSError, TimeoutError, CancelledError, killed


def _distributed() -> Any:
    try:
        import distributed
    except ImportError as error:
        raise InputError(
            "dask-missing",
            "Solving on many machines needs the package distributed, which is not installed.",
            where="scheduler",
            fix="Install it with pip install 'closedcup[dask]'.",
        ) from error
    # What is lost is told once, in our words, and not as the tracebacks of a background thread.
    for name in ("distributed", "distributed.client", "tornado.application"):
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    return distributed
