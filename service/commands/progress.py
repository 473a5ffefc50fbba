"""Show how far a long piece of work is: a bar on a terminal, elsewhere a line now and then."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

LINES = 10
"""How many lines tell of the whole work where the output is no terminal."""


@contextmanager
def progress(work: str, things: str, console: Console | None = None) -> Iterator[Callable[[int, int], None]]:
    """Give what is told how many things are done, and of how many."""
    console = console or Console(stderr=True)
    if console.is_terminal:
        columns = (TextColumn(work), BarColumn(), MofNCompleteColumn(), TextColumn(things), TimeElapsedColumn())
        with Progress(*columns, console=console) as bar:
            task = bar.add_task(work)
            yield lambda done, total: bar.update(task, completed=done, total=total)
        return
    told = 0

    def line(done: int, total: int) -> None:
        nonlocal told
        tenth = LINES * done // total if total else LINES
        if tenth > told:
            told = tenth
            console.print(f"{work}: {done:,} of {total:,} {things}", highlight=False)

    yield line
