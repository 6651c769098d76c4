"""One thread that has the laboratory open: requests are answered one after the other.

The records fold is kept between requests and is not made for two threads at once; one analyst at
one PC needs no more.
"""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from closedcup.app.opening import OpenLaboratory

T = TypeVar("T")


class Worker:
    """Runs functions with the open laboratory, in one thread; opens it at the first."""

    def __init__(self, open_records: Callable[[], OpenLaboratory]) -> None:
        self._open_records = open_records
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="laboratory")
        self._opened: OpenLaboratory | None = None
        self.by = ""

    async def run(self, function: Callable[[OpenLaboratory], T]) -> T:
        """Return what a function makes of the laboratory."""

        def work() -> T:
            if self._opened is None:
                self._opened = self._open_records()
                self.by = self._opened.by
            return function(self._opened)

        return await asyncio.get_running_loop().run_in_executor(self._thread, work)

    def close(self) -> None:
        """Finish what is being done and let go of the records."""
        self._thread.shutdown(wait=True)
        if self._opened is not None:
            self._opened.close()
            self._opened = None
