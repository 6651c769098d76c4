"""What the demo shows while it works: a line for each step and a bar of progress."""

import sys
from pathlib import Path
from typing import Any, Self

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn


class Display:
    """Lines and a progress bar on a terminal; nothing at all when quiet."""

    LINES = 45
    """About how many lines a whole run shows; the bar ends full whatever their number."""

    def __init__(self, *, quiet: bool) -> None:
        self.console = Console(quiet=quiet, highlight=False, soft_wrap=True)
        self._progress = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TimeElapsedColumn(),
            console=self.console,
            transient=True,
            disable=quiet,
        )
        self._task = self._progress.add_task("The main job", total=self.LINES)

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._progress.stop()

    def say(self, line: str) -> None:
        """Print a step and move the bar on."""
        self.console.print(line, markup=False)
        self._progress.advance(self._task)

    def close(self, answer: dict[str, Any]) -> None:
        """Say where everything is and how to go on."""
        self.console.print()
        for result in answer["results"]:
            self.console.print(f"{result['sample']}: {result['statement']}", markup=False)
        command = Path(sys.executable).parent / "closedcup"
        for line in (
            "",
            f"Report:    {answer['report']}",
            f"Record:    {answer['record']}",
            f"Records:   {answer['database']} ({answer['events']} events)",
            "",
            f"Web pages: {command} serve --database {answer['address']}",
            "           then open http://127.0.0.1:8460 in a browser on this PC.",
        ):
            self.console.print(line, markup=False)
