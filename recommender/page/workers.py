"""Processes that answer questions, one at a time: what runs can be ended, which no thread can.

One works or waits, a second one has everything loaded and takes its place when it is ended, so that
a question that supersedes another does not wait for libraries to load.
"""

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from queue import SimpleQueue
from typing import Any, Final, Protocol

from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.lines.model import Line
from recommender.lines.result import LineAnswer
from recommender.results.answer import Answer, PriceList

Asked = Case | Line
Said = Answer | LineAnswer
Told = Callable[[Said | str | None], None]
"""Is given each answer, a sentence if there is none, and nothing when all is told."""

_Given = tuple[Catalogue, float | None, PriceList | None]

_PATIENCE: Final = 5.0
_GONE: Final = "the process that answers has ended; change a value to ask again"


class Answers(Protocol):
    """What answers one question at a time."""

    def start(self, case: Asked, told: Told) -> None:
        """Answer a case or a line, in place of whatever is being answered."""

    def close(self) -> None:
        """End everything."""


class Workers:
    """Two processes, of which one answers.

    Parameters
    ----------
    catalogue : Catalogue
    seconds : float, optional
        Longest time for a proof.
    prices : PriceList, optional
        What was laid over the catalogue.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        seconds: float | None = None,
        prices: PriceList | None = None,
    ) -> None:
        self._given = catalogue, seconds, prices
        self._active, self._spare = self._make(), self._make()

    def _make(self) -> "_Worker":
        return _Worker(self._given)

    def start(self, case: Asked, told: Told) -> None:
        """Answer a case or a line; what is being answered is ended, and its ``told`` is silent."""
        if self._active.busy or not self._active.alive:
            self._active.end()
            self._active, self._spare = self._spare, self._make()
        self._active.ask(case, told)

    def close(self) -> None:
        """End both processes."""
        for worker in (self._active, self._spare):
            worker.end()


class _Worker:
    """A process that waits for questions, and a thread here that hears its answers."""

    def __init__(self, given: _Given) -> None:
        # A fork would take over locks that threads of this process hold.
        context = multiprocessing.get_context("spawn")
        self._near, far = context.Pipe()
        self._process: BaseProcess = context.Process(target=_work, args=(far, given), daemon=True)
        with _signals_as_they_are():
            # Its first start lets signals through that this process has blocked.
            resource_tracker.ensure_running()
        with _signals_as_they_are():
            self._process.start()
        far.close()
        self._told: Told | None = None
        self._gone = False
        threading.Thread(target=self._hear, name="answers", daemon=True).start()

    @property
    def busy(self) -> bool:
        return self._told is not None

    @property
    def alive(self) -> bool:
        # Its end is heard of before the system says that it is over.
        return not self._gone and self._process.is_alive()

    def ask(self, case: Asked, told: Told) -> None:
        self._told = told
        try:
            self._near.send(case)
        except OSError:
            self._tell(_GONE)

    def end(self) -> None:
        self._told = None
        # Told to end it would not hear: it blocks the signals that this process blocks.
        self._process.kill()
        self._process.join(_PATIENCE)

    def _hear(self) -> None:
        while True:
            try:
                said = self._near.recv()
            except (EOFError, OSError):
                self._gone = True
                self._tell(_GONE)
                self._near.close()
                return
            self._tell(said)

    def _tell(self, said: Said | str | None) -> None:
        told = self._told
        if not isinstance(said, Said):
            self._told = None
        if told is not None:
            told(said)


@contextmanager
def _signals_as_they_are() -> Iterator[None]:
    """A block after which the same signals are blocked as before; processes take that over."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    blocked = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, blocked)


def _work(connection: Connection, given: _Given) -> None:
    """Answer what comes, until whoever asks is gone."""
    # An interrupt is for who asks, whose end is heard of soon enough.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from recommender.lines.recommend import (  # noqa: PLC0415 - in this process alone
        recommend_line_in_steps,
    )
    from recommender.recommend import recommend_in_steps  # noqa: PLC0415 - as above

    catalogue, seconds, prices = given
    asked: SimpleQueue[Asked] = SimpleQueue()
    threading.Thread(target=_listen, args=(connection, asked), daemon=True).start()
    while True:
        case = asked.get()
        try:
            steps: Iterator[Said]
            if isinstance(case, Line):
                steps = recommend_line_in_steps(case, catalogue, seconds=seconds)
            else:
                steps = recommend_in_steps(case, catalogue, seconds=seconds)
            for answer in steps:
                connection.send(replace(answer, prices=prices))
            connection.send(None)
        except OSError:
            os._exit(0)
        except MemoryError:
            connection.send("there is not enough memory for this")
        except Exception as error:
            connection.send(f"a fault of this program: {type(error).__name__}: {error}")


def _listen(connection: Connection, asked: "SimpleQueue[Any]") -> None:
    """Hear questions also while one is answered, and the end of whoever asks at once."""
    while True:
        try:
            asked.put(connection.recv())
        except (EOFError, OSError):
            os._exit(0)
