"""How far a long command is, shown to a person at a terminal and to nobody else."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress_of(*, as_json: bool) -> Iterator[Callable[[str, int, int], None]]:
    """Show how far it is on the terminal's error stream, where a person can see it."""
    from rich.console import Console
    from rich.progress import Progress, TaskID

    console = Console(stderr=True)
    shown = console.is_terminal and not as_json
    with Progress(console=console, transient=True, disable=not shown) as bar:
        tasks: dict[str, TaskID] = {}

        def tell(doing: str, done: int, total: int) -> None:
            if doing not in tasks:
                tasks[doing] = bar.add_task(doing, total=total)
            bar.update(tasks[doing], completed=done)

        yield tell
