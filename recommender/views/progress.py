"""Progress on stderr, for what takes longer than a moment."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from rich.console import Console

from recommender.ending import hidden_cursor

_MOMENT: Final = 1.0

Report = Callable[[str, int, int], None]
"""Called with what is done, how much of it is done, and how much there is."""


@contextmanager
def shown_progress(*, quiet: bool = False, time_left: bool = False) -> Iterator[Report | None]:
    """A function to report progress to, ``None`` if nobody would see it.

    With ``time_left`` it says how long the rest will take. The bar appears only when a second has
    gone by, on stderr if that is a terminal, and leaves no trace.
    """
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.progress import (  # noqa: PLC0415 - loaded only where somebody sees the bar
        BarColumn,
        MofNCompleteColumn,
        Progress,
        ProgressColumn,
        TaskID,
        TextColumn,
        TimeRemainingColumn,
    )

    columns: tuple[ProgressColumn, ...] = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        MofNCompleteColumn(),
    )
    if time_left:
        columns = (*columns, TimeRemainingColumn(elapsed_when_finished=True))
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    since, tasks, started = time.monotonic(), dict[str, TaskID](), False

    def report(what: str, done: int, count: int) -> None:
        nonlocal started
        if not started and time.monotonic() - since < _MOMENT:
            return
        if not started:
            bar.start()
            started = True
        if what not in tasks:
            tasks[what] = bar.add_task(what, total=count)
        bar.update(tasks[what], completed=done, total=count)

    try:
        with hidden_cursor():
            yield report
    finally:
        if started:
            bar.stop()
